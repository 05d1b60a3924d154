"""The words of rigwire by their places, and the state table as one array of bytes.

The loop works with small integers only; this is where they get their names. Each is written as
its number, so that a board needs to keep neither word nor name; `tests/device/test_numbers.py`
compares it with its table.
"""

from rigwire import states, tables
from rigwire.errors import IllegalTransition

# States.
LOCKED = 0
OFF = 1
READY = 2
MELTING = 3
COOLING = 5
SEEDING = 6
WORKING = 8
HANDS_IN = 9
TESTING = 10
FINISHED = 11
STOPPED = 12

# Events of the state table.
UNFIT = 0
ASK_START = 1
WINDOW_CLOSED = 2
TEST = 3
LEASE_ENDED = 4
OFFER = 5
HANDS = 12
DONE = 13
ALL_OFF = 14
FAULT = 15
CLEARED = 16
STEP_EVENT = {kind: states.EVENTS.index(kind) for kind in tables.STEP_KINDS}

# Why hands are taken to be in the bowl.
BY_PEDAL = 1
BY_BOWL = 2
BY_READING = 3
BY_STIRRER = 4
BY_DOUBT = 5

# Who answered a prompt.
BY_PRESS = 1
BY_HOST = 2

# Prompts.
SEED_IN = 2
PRESS_STOP = 5

IN_STEP = bytes([1 if state in states.STEP_STATE.values() else 0 for state in states.STATES])
"""1 for the states of a step, by state number."""

_COLUMNS = len(states.EVENTS)
NO_ROW = 255
_ILLEGAL = IllegalTransition("the state table has no such row")


def _table():
    cells = bytearray([NO_ROW] * (len(states.STATES) * _COLUMNS))
    for state, event, after in states.rows():
        at = states.STATES.index(state) * _COLUMNS + states.EVENTS.index(event)
        cells[at] = states.STATES.index(after)
    return bytes(cells)


_NEXT = _table()


def next_no(state_no, event_no):
    """The state after an event, by numbers. Raises IllegalTransition where no row is."""
    after = _NEXT[state_no * _COLUMNS + event_no]
    if after == NO_ROW:
        raise _ILLEGAL
    return after
