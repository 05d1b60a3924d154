"""The sentences of a batch: what happens, what to do now, and how it ended. Words of the trade.

The advice in them (moulds to 22-26, refrigerator to 12, hold the button a second) is common
practice, no source, except the press, which is the rig's own rule.
"""

from rigwire.schedule import Step
from rigwire.states import STATES
from rigwire.tables import ADDITIONS, ANSWERED_BY, PROMPTS, STEP_KINDS
from snapgloss.base.records import Event
from snapgloss.base.units import f_from_c, show_difference, show_span, show_temperature
from snapgloss.quality.event_words import named, stop_words

DOING = {
    "melt": "Melting to {target}",
    "rest": "Resting at {target}",
    "cool": "Cooling to {target}",
    "seed": "Seeding at {target}",
    "rewarm": "Warming to {target}",
    "work": "Working at {target}",
}
STATE_WORDS = {
    "locked": "Locked",
    "off": "Off",
    "ready": "Ready",
    "hands_in": "Hands in",
    "testing": "Testing",
    "finished": "Finished",
    "stopped": "Stopped",
}
ASK = {
    "lumps_gone": "Look into the bowl. All lumps gone? Press the button.",
    "seed_in": "Seed in now: {grams} g.",
    "dip_knife": "Dip a knife.",
    "pour": "In temper? Pour.",
    "press_stop": "First try the stop button, as once every day: press it, let it go. Then start.",
}
ANSWERED = {
    "press": "{what}: the button was pressed.",
    "host": "{what}: answered from here.",
    "noticed": "{what}: noticed by the dip.",
    "safe_default": "{what}: nobody answered, the rig went on by itself.",
    "nobody": "{what}: passed.",
}
SHORT = {
    "lumps_gone": "Lumps gone",
    "seed_in": "Seed in",
    "dip_knife": "Knife",
    "pour": "Pour",
}
PRESS_START = "Press start on the rig: hold the button for 1 to 3 seconds."
CARRY_ON = "Press start on the rig within 2 minutes: it carries on where it was."
STARTED_ANEW = "The rig started anew: all is off. It looks whether it can carry on."
OUTSIDE = {
    "ready": PRESS_START,
    "stopped": "Put that right, then press the button on the rig. A press never starts it.",
}
CLOSED = "The start window closed: nobody pressed start on the rig."
FREE = "Nothing to do."
FAULT = "This program met a fault of its own. The rig goes on without it; look at the rig itself."
NO_RIG = "No rig is plugged in."
PLUG_IN = "Plug it in with a data cable; it is found by itself."
CABLE_OUT = "The cable is out; trying again ... Plug it in at both ends: it goes on by itself."
TRYING_AGAIN = "{why} Trying again ..."
LOOKING_FOR_IT = (
    "The rig does not answer. If it has power, the batch goes on by itself. Looking for it ..."
)
NO_ANSWER = "The rig does not answer, so nothing reached it."
AT_THE_RIG = "Press the stop button at the rig."
PROVING = "A step of commissioning is done. See the page of the rig."
CUT_SHORT = "{key} was cut short and is not done. {why}"
DO_IT_NOW = "Now: do what the step says ({key})."
NO_ANSWER_TO_IT = "That is no answer to it."
NOTHING_PROVED = "No step of commissioning is under way."
NOTHING_OPEN = "Every step is passed."
PROVING_BEGINS = "The first step is on its way."
NOT_ASKED = "The rig does not ask that now."
NOT_OURS = "A batch is under way that this record knows nothing of."
NOTHING_POURED = "No batch is under way."
NO_BATCH = "There is no batch yet to write that to."
BUSY = "The rig is busy ({state}). Turn it off first, or let it finish."
CHOOSE = "Nothing is on. Choose a chocolate to begin."


def about(seconds: int) -> str:
    """Return "20 s", "16 min" or "1 h 10 min": no finer than a person uses it."""
    return show_span(seconds) if seconds < 60 else show_span(round(seconds / 60) * 60)


def doing(step: Step, fahrenheit: bool = False, target_mc: int | None = None) -> str:
    """Return what a step does, such as "Melting to 48.0 °C"; `target_mc`: where it is by now."""
    at_mc = step.target_mc if target_mc is None else target_mc
    return DOING[step.kind].format(target=show_temperature(at_mc, fahrenheit))


def stirring_in(target_mc: int, fahrenheit: bool = False) -> str:
    """Return what a seed step does once the seed is in: the next target holds already."""
    return f"Stirring the seed in at {show_temperature(target_mc, fahrenheit)}"


def state_words(state: str) -> str:
    """Return a state outside the steps in words; its bare name when a newer rig made it up."""
    return STATE_WORDS.get(state, state.capitalize())


def ask(prompt: str, grams: int) -> str:
    """Return what a waiting prompt asks for; empty for none."""
    return ASK.get(prompt, "").format(grams=grams)


def meanwhile(steps: list[Step], step_no: int, left_s: int | None, fahrenheit: bool) -> str:
    """Return what hands are free for in step step_no (from 1), left_s before it ends."""
    kind, seed_g = steps[step_no - 1].kind, sum(step.grams for step in steps[step_no:])
    if kind == "melt":
        moulds = f"{_whole(22, fahrenheit)} to {_whole(26, fahrenheit)} {_unit(fahrenheit)}"
        weigh = f" Weigh {seed_g} g of seed." if seed_g else ""
        return f"Moulds to {moulds}.{weigh}"
    if kind == "cool" and seed_g and left_s is not None:
        return _until_seed(left_s)
    if kind == "work":
        fridge = f"{_whole(12, fahrenheit)} {_unit(fahrenheit)}"
        return f"Pour, tap, scrape. Refrigerator at {fridge}."
    return FREE


def _until_seed(left_s: int) -> str:
    if left_s > 180:
        return f"Seed in about {about(left_s)}."
    return (
        f"Take the seed to hand: {'about ' + about(left_s) if left_s >= 30 else 'any moment now'}."
    )


def _whole(celsius: int, fahrenheit: bool) -> int:
    return round(f_from_c(celsius)) if fahrenheit else celsius


def _unit(fahrenheit: bool) -> str:
    return "°F" if fahrenheit else "°C"


def event_line(event: Event, steps: list[Step], fahrenheit: bool = False) -> str | None:
    """Return the line an event is worth, or None."""
    line = _LINES.get(event.kind)
    return None if line is None else line(event, steps, fahrenheit)


def _step(event: Event, steps: list[Step], fahrenheit: bool) -> str | None:
    if not 1 <= event.a <= len(steps):
        return f"Step {event.a}: {named(STEP_KINDS, event.b)}."
    return f"Step {event.a} of {len(steps)}. {doing(steps[event.a - 1], fahrenheit)}."


def _state(event: Event, _steps: list[Step], _fahrenheit: bool) -> str | None:
    return {"ready": PRESS_START, "finished": "All off."}.get(named(STATES, event.a))


def _reached(event: Event, _steps: list[Step], fahrenheit: bool) -> str:
    return f"{show_temperature(event.b, fahrenheit)} reached."


def _prompt(event: Event, _steps: list[Step], _fahrenheit: bool) -> str | None:
    return ask(named(PROMPTS, event.a), event.b) or None


def _answered(event: Event, _steps: list[Step], _fahrenheit: bool) -> str:
    what = SHORT.get(named(PROMPTS, event.a), "Prompt")
    how = ANSWERED.get(named(ANSWERED_BY, event.b), "{what}: answered.")
    return how.format(what=what)


def _dip(event: Event, _steps: list[Step], fahrenheit: bool) -> str:
    return f"A dip of {show_difference(event.a / 1000, fahrenheit)}: something went in."


def _added(event: Event, _steps: list[Step], _fahrenheit: bool) -> str | None:
    what = {"seed": "seed", "top_up": "chocolate"}.get(named(ADDITIONS, event.a))
    return what and f"{event.b} g of {what} added."


def _stop(event: Event, _steps: list[Step], _fahrenheit: bool) -> str:
    return f"Stopped: {stop_words(event.a)}. Heat is off."


def _withheld(event: Event, _steps: list[Step], _fahrenheit: bool) -> str:
    return f"Heat is held back: {stop_words(event.a)}."


def _given_back(_event: Event, _steps: list[Step], _fahrenheit: bool) -> str:
    return "Heat is free again."


def _offer(event: Event, _steps: list[Step], fahrenheit: bool) -> str:
    at = show_temperature(event.b, fahrenheit)
    return (
        f"The rig offers to carry on with step {event.a} at {at}: "
        "press start on the rig within 2 minutes."
    )


def _carried_on(event: Event, _steps: list[Step], fahrenheit: bool) -> str:
    return f"Carried on with step {event.a} at {show_temperature(event.b, fahrenheit)}."


_LINES = {
    "offer": _offer,
    "carried_on": _carried_on,
    "step": _step,
    "state": _state,
    "reached": _reached,
    "prompt": _prompt,
    "answered": _answered,
    "dip": _dip,
    "added": _added,
    "stop": _stop,
    "withheld": _withheld,
    "given_back": _given_back,
}
