"""The tables of the wire as tuples, with the words that only people read.

For the host, the documents and the tests: a board does not load this module. What stands in
another module is not written again here, only read out of it.
"""

from rigwire import message_table, messages, states, tables
from rigwire.errors import IllegalTransition

PURPOSES = (
    ("hello", "Who is there. Clears the memory of answered requests."),
    ("load_open", "Begin an upload. Refused while heating."),
    ("load_part", "The next piece, at its offset."),
    ("load_done", "Check length and digest, then commit in one step. Answered by `held`."),
    (
        "load_learned",
        "What came is no schedule but what the host learned of this rig: check it, keep it.",
    ),
    (
        "ask_start",
        "Open the start window for exactly this schedule. Starts nothing: a person presses.",
    ),
    ("off", "All off. Always works, from anyone."),
    ("answer", "Answer the prompt that is waiting."),
    ("declare", "Something is added or taken out now."),
    ("beat", "The host's own steady clock, every few seconds: two clocks watch each other."),
    ("ask_status", "Answered by `status`."),
    ("fetch", "Readings from this sequence number on. Answered by `batch` or `lost`."),
    ("fetch_events", "Events from this sequence number on. Answered by `events` or `lost`."),
    ("fetch_samples", "Samples from this sequence number on. Answered by `samples` or `lost`."),
    (
        "ask_test",
        "Open the window for `testing`. A press allows at most these powers, for this long.",
    ),
    ("lease", "Drive this in `testing`, until 5 s after the last lease."),
    (
        "ask_update",
        "Open the window for other firmware, in `off` or `locked`. A press restarts the board.",
    ),
    ("hello_is", "The answer to hello. Sequence numbers are -1 while nothing is held."),
    ("ok", "Done as asked."),
    ("no", "Refused: a code, and words for a person."),
    ("held", "The schedule with this digest is held now."),
    ("status", "Where the rig is now. -1 where a time does not apply."),
    ("reading", "One a second."),
    ("batch", "Kept readings, in order."),
    ("sample", "The sample probe, once a second while it gives a value."),
    ("samples", "Kept readings of the sample probe, in order."),
    ("event", "Something happened."),
    ("events", "Kept events, in order."),
    ("lost", "These were overwritten before anyone fetched them. Stream 0 is readings, 1 events."),
)
"""Each message and what it is for, in the order of the page."""


def _message(name: str, purpose: str) -> tuple:
    to_device = name in message_table.REQUESTS
    rows = message_table.REQUESTS if to_device else message_table.REPORTS
    most, group = message_table.GROUPS.get(name, (0, ""))
    return (
        name,
        messages.TO_DEVICE if to_device else messages.TO_HOST,
        tuple(messages.fields(rows[name])),
        tuple(messages.fields(group)),
        most,
        purpose,
    )


TABLE = tuple([_message(name, purpose) for name, purpose in PURPOSES])
"""Rows (name, direction, fields, fields of a group's row, most rows, purpose)."""

READING_FIELDS = tuple([field[0] for field in messages.fields(message_table.READING)])

_MEANINGS = {
    # a, b ("-" = always 0)
    "boot": ("reset cause as the board gives it", "-"),
    "state": ("new state", "old state"),
    "step": ("step number from 1", "step kind"),
    "reached": ("step number", "chocolate in mC"),
    "prompt": ("prompt", "a figure for it, such as grams of seed"),
    "answered": ("prompt", "answered by"),
    "dip": ("drop in mC", "chocolate in mC"),
    "added": ("addition", "grams"),
    "stop": ("stop code", "the value that caused it"),
    "cleared": ("stop code", "-"),
    "withheld": ("stop code that takes heat away", "the value that caused it"),
    "given_back": ("stop code", "-"),
    "press": ("how long the button was held, ms", "-"),
    "window": ("1 opened, 0 closed", "-"),
    "loaded": ("slot of a schedule; 2: what a host learned of the rig", "bytes"),
    "done": ("-", "-"),
    "trimmed": ("frames dropped since the last such event", "-"),
    "offer": ("step number that the rig offers to carry on with", "chocolate in mC"),
    "carried_on": ("step number", "chocolate in mC"),
    "hands": (
        "cause: 1 pedal, 2 bowl lifted, 3 noticed, 4 stirrer stands still, 5 reading in doubt",
        "-",
    ),
    "proven": ("1 stop loop, 2 relay and switch of the heater", "-"),
    "warned": ("stop code of what is wrong, which goes on all the same", "a figure for it"),
    "checks_off": ("bits: 1 stop loop, 2 probes agree cold, 4 heat against temperatures", "-"),
    "stopped_before": ("stop code of what had stopped or locked the rig when a reset came", "-"),
}
EVENT_KINDS = tuple([(name,) + _MEANINGS[name] for name in tables.EVENT_NAMES])
"""Rows (name, meaning of a, meaning of b)."""

_STOP_LINES = tables.STOP_LINES.split("\n")
STOPS = tuple(
    [
        (code, line.split(": ", 1)[0], tables.stop_words(code))
        for code, line in enumerate(_STOP_LINES)
    ]
)
"""Rows (code, key, words for a person)."""
STOP_KEYS = tuple([row[1] for row in STOPS])

FLAGS = (
    (tables.FLAG_PRODUCT_MISSING, "product_missing"),
    (tables.FLAG_PLATE_MISSING, "plate_missing"),
    (tables.FLAG_ROOM_MISSING, "room_missing"),
    (tables.FLAG_HEAT_WITHHELD, "heat_withheld"),
    (tables.FLAG_PROMPT_WAITING, "prompt_waiting"),
    (tables.FLAG_ADDITION_DECLARED, "addition_declared"),
    (tables.FLAG_STIRRER_HELD, "stirrer_held"),
    (tables.FLAG_HOLDING, "holding"),
)

TRANSITIONS = states.rows()
"""Rows (state, event, next state)."""

_NEXT: dict[tuple, str] = {(state, event): after for state, event, after in TRANSITIONS}


def next_state(state: str, event: str) -> str:
    """The state after `event`. Raises IllegalTransition where the table has no row."""
    after = _NEXT.get((state, event))
    if after is None:
        raise IllegalTransition(event + " is not possible in " + state)
    return after
