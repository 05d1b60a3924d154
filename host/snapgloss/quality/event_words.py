"""What an event says to a person, in the words of the trade."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from rigwire.states import STATES
from rigwire.tables import ADDITIONS, ANSWERED_BY, PROMPTS, STEP_KINDS
from rigwire.views import STOPS
from snapgloss.base.records import Event
from snapgloss.base.units import show_mass, show_span, show_temperature

STEP_WORDS = {
    "melting": "melt",
    "resting": "rest",
    "cooling": "cool",
    "seeding": "seed",
    "rewarming": "rewarm",
    "working": "work",
    "hands_in": "hands in",
}
_PROMPTS = {
    "lumps_gone": "asked: all lumps gone?",
    "seed_in": "asked: seed in",
    "dip_knife": "asked: dip a knife",
    "pour": "asked: pour",
    "press_stop": "asked: press stop once",
}
_ANSWERED = {
    "press": "answered at the rig",
    "host": "answered from the computer",
    "noticed": "noticed by the rig",
    "safe_default": "nobody answered: went on as planned",
    "nobody": "not answered",
}
_HANDS = {
    1: "pedal down",
    2: "bowl lifted",
    3: "hands in the bowl, noticed by the rig",
    4: "the stirrer stood still",
    5: "the chocolate probe did not follow the heat",
}
_PROVEN = {1: "stop button tried", 2: "both switches of the heater tried"}
_LOADED = {2: "the rig was told what a batch taught"}
_ADDED = {"seed": "seed in", "top_up": "topped up", "pour": "poured"}


class Said(NamedTuple):
    """A sentence and when, device ms."""

    at_ms: int
    words: str


def named(names: Sequence[str], number: int) -> str:
    """The name of a wire number; one that only a newer rig knows is "no. 17"."""
    return names[number] if 0 <= number < len(names) else f"no. {number}"


def stop_words(code: int) -> str:
    """Why the rig stopped or holds heat back, for a person."""
    return named([row[2] for row in STOPS], code)


def _step(event: Event, _fahrenheit: bool) -> str:
    return f"{named(STEP_KINDS, event.b)} begins"


def _reached(event: Event, fahrenheit: bool) -> str:
    return f"{show_temperature(event.b, fahrenheit)} reached"


def _prompt(event: Event, _fahrenheit: bool) -> str:
    name = named(PROMPTS, event.a)
    grams = f", {show_mass(event.b)}" if name == "seed_in" and event.b > 0 else ""
    return _PROMPTS.get(name, f"asked: {name}") + grams


def _answered(event: Event, _fahrenheit: bool) -> str:
    asked = _PROMPTS.get(named(PROMPTS, event.a), "").removeprefix("asked: ").rstrip("?")
    how = named(ANSWERED_BY, event.b)
    return f"{asked or 'prompt'}: {_ANSWERED.get(how, how)}"


def _added(event: Event, _fahrenheit: bool) -> str:
    name = named(ADDITIONS, event.a)
    grams = f", {show_mass(event.b)}" if event.b > 0 else ""
    return _ADDED.get(name, name) + grams


def _offer(event: Event, fahrenheit: bool) -> str:
    at = show_temperature(event.b, fahrenheit)
    return f"the rig offers to carry on with step {event.a} at {at}"


def _carried_on(event: Event, fahrenheit: bool) -> str:
    return f"carried on with step {event.a} at {show_temperature(event.b, fahrenheit)}"


def _state(event: Event, _fahrenheit: bool) -> str | None:
    new, old = named(STATES, event.a), named(STATES, event.b)
    if new == "hands_in":
        return "hands in: heat and stirrer off"
    return "went on" if old == "hands_in" and new in STEP_WORDS else None


_SAY: dict[str, Callable[[Event, bool], str | None]] = {
    "step": _step,
    "reached": _reached,
    "prompt": _prompt,
    "answered": _answered,
    "added": _added,
    "state": _state,
    "offer": _offer,
    "carried_on": _carried_on,
    "hands": lambda event, _f: _HANDS.get(event.a),
    "boot": lambda _event, _f: "the rig started anew",
    "stop": lambda event, _f: f"stopped: {stop_words(event.a)}",
    "cleared": lambda _event, _f: "stop cleared at the rig",
    "withheld": lambda event, _f: f"heat held back: {stop_words(event.a)}",
    "given_back": lambda _event, _f: "heat given back",
    "done": lambda _event, _f: "finished",
    "loaded": lambda event, _f: _LOADED.get(event.a),
    "proven": lambda event, _f: _PROVEN.get(event.a),
    "warned": lambda event, _f: f"warning: {stop_words(event.a)}",
    "stopped_before": lambda event, _f: f"before it started anew: {stop_words(event.a)}",
    "replaced": lambda event, _f: f"read wrongly: run {event.a} stands instead",
    "clock_unsure": lambda _event, _f: "the clock of the log may have jumped here",
    "checks_off": lambda _event, _f: "this rig does without some of its checks: 20 W at most",
}


def say(event: Event, fahrenheit: bool = False) -> str | None:
    """The sentence for one event; None for those that only the rig's own workings need."""
    speak = _SAY.get(event.kind)
    return speak(event, fahrenheit) if speak else None


def say_all(events: Sequence[Event], fahrenheit: bool = False) -> list[Said]:
    """The sentences of a run in order, pourings drawn together into one."""
    pours = [e for e in events if e.kind == "added" and named(ADDITIONS, e.a) == "pour"]
    said = []
    for event in events:
        if len(pours) > 1 and event in pours[1:]:
            continue
        together = len(pours) > 1 and event is pours[0]
        words = _poured(pours) if together else say(event, fahrenheit)
        if words:
            said.append(Said(event.at_ms, words))
    return said


def _poured(pours: Sequence[Event]) -> str:
    grams, span_s = sum(e.b for e in pours), (pours[-1].at_ms - pours[0].at_ms) // 1000
    span = show_span(round(span_s / 60) * 60) if span_s >= 60 else show_span(span_s)
    mass = f", {show_mass(grams)}" if grams else ""
    return f"pouring begins: {len(pours)} portions{mass} in {span}"
