"""The numbers in the firmware's source are the places of their words in the tables of the wire."""

import ast
from pathlib import Path

import pytest

from rigwire import states, tables, views

ROOT = Path(__file__).parents[2] / "firmware" / "rigfw"
NUMBERS = {
    **{event.upper(): at for at, event in enumerate(states.EVENTS) if event != "off"},
    "ALL_OFF": states.EVENTS.index("off"),
    **{state.upper(): at for at, state in enumerate(states.STATES)},
    "BY_PRESS": tables.ANSWERED_BY.index("press"),
    "BY_HOST": tables.ANSWERED_BY.index("host"),
    "NOTICED": tables.ANSWERED_BY.index("noticed"),
    "SAFE_DEFAULT": tables.ANSWERED_BY.index("safe_default"),
    "SEED_IN": tables.PROMPTS.index("seed_in"),
    "PRESS_STOP": tables.PROMPTS.index("press_stop"),
    "SEED": tables.ADDITIONS.index("seed"),
    "POUR": tables.ADDITIONS.index("pour"),
}


def numbers_in(source):
    """{name: number} of every `NAME = 5` at the top."""
    found = {}
    for one in ast.parse(source).body:
        if isinstance(one, ast.Assign) and isinstance(one.value, ast.Constant):
            (target,) = one.targets
            if type(one.value.value) is int and target.id.isupper():
                found[target.id] = one.value.value
    return found


def wrong(found):
    """Names among them whose number is not the place of their word."""
    places = {**NUMBERS, **{key.upper(): at for at, key in enumerate(views.STOP_KEYS)}}
    places.update({name: -1 for name in found if name.startswith("EV_")})  # misspelt ones stay
    places.update({"EV_" + name.upper(): at for at, name in enumerate(tables.EVENT_NAMES)})
    return [name for name, number in found.items() if places.get(name, number) != number]


FILES = sorted(path for path in ROOT.rglob("*.py") if path.stem != "pins")  # pins have their map


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_number_is_the_place_of_its_word(path):
    """Stop codes, events of journal and state table, states, prompts, answers, additions."""
    assert wrong(numbers_in(path.read_text())) == []


def test_every_stop_and_every_event_has_its_number():
    """The search finds them all: none is written in a way that it does not see."""
    found = {}
    for path in FILES:
        found.update(numbers_in(path.read_text()))
    assert {key.upper() for key in views.STOP_KEYS[1:]} <= set(found)
    assert {"EV_" + name.upper() for name in tables.EVENT_NAMES} <= set(found)
    assert {state.upper() for state in states.STATES} - set(found) == {"RESTING", "REWARMING"}


def test_a_wrong_number_is_found():
    """One place off, and a word that no table has."""
    assert wrong(numbers_in("EV_BOOT = 1\nNO_RISE = 6")) == ["EV_BOOT"]
    assert wrong(numbers_in("EV_BOOTS = 0")) == ["EV_BOOTS"]
    assert wrong(numbers_in("OFF = 0")) == ["OFF"]
