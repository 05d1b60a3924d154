"""Events in the words of the trade."""

import pytest

from rigwire.tables import EVENT_NAMES
from rigwire.views import STOPS
from snapgloss.base.records import Event
from snapgloss.quality.event_words import say, say_all

# Known to say nothing: the rig's own workings.
SILENT = {"dip", "press", "window", "loaded", "trimmed"}


@pytest.mark.parametrize(
    ("kind", "a", "b", "words"),
    [
        ("step", 2, 3, "seed begins"),
        ("loaded", 1, 400, None),
        ("loaded", 2, 368, "the rig was told what a batch taught"),
        ("reached", 1, 48_000, "48.0 °C reached"),
        ("prompt", 2, 120, "asked: seed in, 120 g"),
        ("prompt", 1, 0, "asked: all lumps gone?"),
        ("answered", 2, 3, "seed in: noticed by the rig"),
        ("answered", 4, 4, "pour: nobody answered: went on as planned"),
        ("added", 1, 120, "seed in, 120 g"),
        ("added", 2, 1500, "topped up, 1.5 kg"),
        ("added", 3, 0, "poured"),
        ("state", 9, 8, "hands in: heat and stirrer off"),
        ("state", 8, 9, "went on"),
        ("state", 8, 7, None),
        ("stop", 5, 76_000, "stopped: the plate is too hot"),
        ("withheld", 3, 900, "heat held back: the chocolate reading jumped"),
        ("hands", 1, 0, "pedal down"),
        ("hands", 2, 0, "bowl lifted"),
        ("hands", 3, 0, "hands in the bowl, noticed by the rig"),
        ("offer", 6, 31_437, "the rig offers to carry on with step 6 at 31.4 °C"),
        ("carried_on", 6, 31_250, "carried on with step 6 at 31.2 °C"),
        ("done", 0, 0, "finished"),
    ],
)
def test_each_event_in_words(kind, a, b, words):
    """A sentence of the trade, or None for what only the rig needs."""
    assert say(Event(0, 0, kind, a, b)) == words


def test_every_kind_is_said_or_known_to_be_silent():
    """A kind added to the wire must be given words, or be named silent here."""
    said = {k for k in EVENT_NAMES if say(Event(0, 0, k, 1, 1)) or say(Event(0, 0, k, 9, 8))}
    assert said == set(EVENT_NAMES) - SILENT


def test_every_stop_is_said_without_its_code():
    """No stop shows a bare number; each has its own words."""
    said = [say(Event(0, 0, "stop", code, 0)) for code, _, _ in STOPS]
    assert len(set(said)) == len(STOPS)
    assert not any(character.isdigit() for words in said for character in words)


def test_a_number_from_a_newer_rig_is_shown_not_refused():
    """An addition, prompt or stop that this version does not know is said by its number."""
    assert say(Event(0, 0, "added", 42, 0)) == "no. 42"
    assert say(Event(0, 0, "stop", 99, 0)) == "stopped: no. 99"
    assert say(Event(0, 0, "prompt", -1, 0)) == "asked: no. -1"
    assert say(Event(0, 0, "sung", 1, 1)) is None


def test_pourings_are_drawn_together():
    """Three portions within four minutes are one line at the first; one portion is itself."""
    pours = [Event(n, n * 120_000, "added", 3, 95) for n in range(3)]
    said = say_all([pours[0], Event(9, 60_000, "prompt", 4, 0), *pours[1:]])
    assert said == [
        (0, "pouring begins: 3 portions, 285 g in 4 min"),
        (60_000, "asked: pour"),
    ]
    assert say_all(pours[:1]) == [(0, "poured, 95 g")]


def test_fahrenheit_where_asked():
    """48 degC is 118.4 degF."""
    assert say(Event(0, 0, "reached", 1, 48_000), fahrenheit=True) == "118.4 °F reached"
