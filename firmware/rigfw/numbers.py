"""The words of rigwire by their places, and the state table as one array of bytes.

The loop works with small integers only; this is where they get their names.
"""

from rigwire import tables
from rigwire.errors import IllegalTransition
from rigwire.states import EVENTS, STATES, STEP_STATE, TRANSITIONS

_KIND_NAMES = tables.EVENT_NAMES
EV_STATE = _KIND_NAMES.index("state")
EV_STEP = _KIND_NAMES.index("step")
EV_REACHED = _KIND_NAMES.index("reached")
EV_PROMPT = _KIND_NAMES.index("prompt")
EV_ANSWERED = _KIND_NAMES.index("answered")
EV_DIP = _KIND_NAMES.index("dip")
EV_ADDED = _KIND_NAMES.index("added")
EV_STOP = _KIND_NAMES.index("stop")
EV_CLEARED = _KIND_NAMES.index("cleared")
EV_WINDOW = _KIND_NAMES.index("window")
EV_OFFER = _KIND_NAMES.index("offer")
EV_CARRIED_ON = _KIND_NAMES.index("carried_on")
EV_HANDS = _KIND_NAMES.index("hands")
EV_DONE = _KIND_NAMES.index("done")

LOCKED = STATES.index("locked")
OFF = STATES.index("off")
READY = STATES.index("ready")
MELTING = STATES.index("melting")
COOLING = STATES.index("cooling")
SEEDING = STATES.index("seeding")
WORKING = STATES.index("working")
TESTING = STATES.index("testing")
HANDS_IN = STATES.index("hands_in")
FINISHED = STATES.index("finished")
STOPPED = STATES.index("stopped")

UNFIT = EVENTS.index("unfit")
ASK_START = EVENTS.index("ask_start")
WINDOW_CLOSED = EVENTS.index("window_closed")
HANDS = EVENTS.index("hands")
DONE = EVENTS.index("done")
ALL_OFF = EVENTS.index("off")
FAULT = EVENTS.index("fault")
CLEARED = EVENTS.index("cleared")
OFFER = EVENTS.index("offer")
TEST = EVENTS.index("test")
LEASE_ENDED = EVENTS.index("lease_ended")
STEP_EVENT = {kind: EVENTS.index(kind) for kind in tables.STEP_KINDS}

BY_PEDAL = 1
BY_BOWL = 2
BY_READING = 3
BY_STIRRER = 4
BY_DOUBT = 5

BY_PRESS = tables.ANSWERED_BY.index("press")
BY_HOST = tables.ANSWERED_BY.index("host")
NOTICED = tables.ANSWERED_BY.index("noticed")
SAFE_DEFAULT = tables.ANSWERED_BY.index("safe_default")
SEED_IN = tables.PROMPTS.index("seed_in")
PRESS_STOP = tables.PROMPTS.index("press_stop")
ADDED_SEED = tables.ADDITIONS.index("seed")
POURED = tables.ADDITIONS.index("pour")

IN_STEP = bytes([1 if state in STEP_STATE.values() else 0 for state in STATES])
"""1 for the states of a step, by state number."""

_COLUMNS = len(EVENTS)
_NO_ROW = 255
_ILLEGAL = IllegalTransition("the state table has no such row")


def _table():
    cells = bytearray([_NO_ROW] * (len(STATES) * _COLUMNS))
    for state, event, after in TRANSITIONS:
        cells[STATES.index(state) * _COLUMNS + EVENTS.index(event)] = STATES.index(after)
    return bytes(cells)


_NEXT = _table()


def next_no(state_no, event_no):
    """The state after an event, by numbers. Raises IllegalTransition where no row is."""
    after = _NEXT[state_no * _COLUMNS + event_no]
    if after == _NO_ROW:
        raise _ILLEGAL
    return after
