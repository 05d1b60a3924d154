"""The words of rigwire by their places, and the state table as one array of bytes.

The loop works with small integers only; this is where they get their names. A name here, or a
`const` in another module, is written with its number because a board then keeps no word for it;
`tests/device/test_numbers.py` compares each with its table.
"""

from rigwire import states, tables
from rigwire.const import const
from rigwire.errors import IllegalTransition

# States.
LOCKED = const(0)
OFF = const(1)
READY = const(2)
MELTING = const(3)
COOLING = const(5)
SEEDING = const(6)
WORKING = const(8)
HANDS_IN = const(9)
TESTING = const(10)
FINISHED = const(11)
STOPPED = const(12)

# Events of the state table.
UNFIT = const(0)
ASK_START = const(1)
WINDOW_CLOSED = const(2)
TEST = const(3)
LEASE_ENDED = const(4)
OFFER = const(5)
HANDS = const(12)
DONE = const(13)
ALL_OFF = const(14)
FAULT = const(15)
CLEARED = const(16)
STEP_EVENT = {kind: states.EVENTS.index(kind) for kind in tables.STEP_KINDS}

# Why hands are taken to be in the bowl.
BY_PEDAL = const(1)
BY_BOWL = const(2)
BY_READING = const(3)
BY_STIRRER = const(4)
BY_DOUBT = const(5)

# Who answered a prompt.
BY_PRESS = const(1)
BY_HOST = const(2)

# Prompts.
SEED_IN = const(2)
PRESS_STOP = const(5)

IN_STEP = bytes([1 if state in states.STEP_STATE.values() else 0 for state in states.STATES])
"""1 for the states of a step, by state number."""

_COLUMNS = len(states.EVENTS)
_NO_ROW = const(255)
_ILLEGAL = IllegalTransition("the state table has no such row")


def _table():
    cells = bytearray([_NO_ROW] * (len(states.STATES) * _COLUMNS))
    for state, event, after in states.rows():
        at = states.STATES.index(state) * _COLUMNS + states.EVENTS.index(event)
        cells[at] = states.STATES.index(after)
    return bytes(cells)


_NEXT = _table()


def next_no(state_no, event_no):
    """The state after an event, by numbers. Raises IllegalTransition where no row is."""
    after = _NEXT[state_no * _COLUMNS + event_no]
    if after == _NO_ROW:
        raise _ILLEGAL
    return after
