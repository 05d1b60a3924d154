"""Sentences that do not flatter."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.quality.words import (
    outside,
    probe_caution,
    probe_words,
    show_minutes,
    verdict,
)

from .build import Run

EMPTY = Run().figures()


def _figures(inside: float, whole: float, unrecorded: float = 0.0):
    return replace(
        EMPTY,
        minutes_working=whole,
        minutes_in_window=inside,
        minutes_over=whole - inside,
        minutes_unrecorded=unrecorded,
    )


@pytest.mark.parametrize(
    ("inside", "whole", "words"),
    [
        (42.0, 42.0, "stayed 42 of 42 minutes in the window"),
        (41.9, 41.9, "stayed 42 of 42 minutes in the window"),
        (41.6, 42.0, "stayed 41 of 42 minutes in the window"),
        (41.99, 42.0, "stayed 41 of 42 minutes in the window"),
        (42.3, 42.4, "stayed 42 of 43 minutes in the window"),
        (0.4, 42.0, "stayed 0 of 42 minutes in the window"),
        (0.5, 1.0, "stayed 30 of 60 seconds in the window"),
        (0.0, 0.0, "never came to the working temperature"),
    ],
)
def test_the_verdict_is_rounded_honestly(inside, whole, words):
    """Any time outside shows in the two numbers."""
    assert verdict(_figures(inside, whole)) == words


@given(st.floats(0, 600), st.floats(0.02, 600))
def test_the_two_numbers_are_equal_only_when_it_never_left(inside, outside_min):
    """For any times: outside for over a second, the numbers differ."""
    words = verdict(_figures(inside, inside + outside_min)).split()
    assert int(words[1]) < int(words[3])
    assert int(words[1]) * (60 if words[4] == "minutes" else 1) <= inside * 60 + 1e-6


def test_what_was_not_recorded_is_said():
    """A gap in the work is in the sentence, whatever the rest says."""
    assert verdict(_figures(40, 40, 3.0)).endswith("; 3 min more not recorded")
    assert verdict(_figures(0, 0, 0.5)).endswith("; 30 s more not recorded")


def test_no_sentence_speaks_of_temper():
    """A verdict from temperatures never says "temper" but in "temperature"."""
    for figures in (EMPTY, _figures(42, 42), _figures(1, 42, 2)):
        assert "temper" not in verdict(figures).replace("temperature", "")


def test_where_the_rest_was():
    """outside() names under, over and missing, and is empty when there was none."""
    figures = replace(EMPTY, minutes_under=0.1, minutes_over=2.0, minutes_missing=0.5)
    assert outside(figures) == "6 s under, 2 min over, 30 s without a reading"
    assert outside(EMPTY) == ""


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0, "0 s"), (0.004, "1 s"), (1.5, "90 s"), (1.9999, "2 min"), (42.4, "42 min"),
     (99.6, "1 h 40 min"), (125, "2 h 05 min")],
)  # fmt: skip
def test_spans_for_people(minutes, words):
    """Seconds when short, minutes, hours when long."""
    assert show_minutes(minutes) == words


def test_the_probe_is_shown_beside_and_cautioned():
    """±0.5 °C is ±0.9 °F; half a window of 1 °C asks for a check, 0.3 °C does not."""
    assert probe_words() == "probe within ±0.5 °C"
    assert probe_words(500, fahrenheit=True) == "probe within ±0.9 °F"
    assert "thermometer" in probe_caution(31_000, 32_000)
    assert probe_caution(31_000, 32_000, 300) == ""
