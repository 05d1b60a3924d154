"""The words of rigwire by their places, and the state table as one array of bytes.

The loop works with small integers only; this is where they get their names. Each is written as
its number, so that a board needs to keep neither word nor name; `tests/device/test_numbers.py`
compares it with its table.
"""

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

NO_ROW = 255
_ILLEGAL = IllegalTransition("the state table has no such row")


def _made():
    """The table, and what else hangs on the words; a board does not need those again."""
    from rigwire import states, tables

    columns = len(states.EVENTS)
    cells = bytearray([NO_ROW] * (len(states.STATES) * columns))
    for state, event, after in states.rows():
        at = states.STATES.index(state) * columns + states.EVENTS.index(event)
        cells[at] = states.STATES.index(after)
    step_events = {kind: states.EVENTS.index(kind) for kind in tables.STEP_KINDS}
    step_states = [1 if state in states.STEP_STATE.values() else 0 for state in states.STATES]
    return bytes(cells), columns, step_events, bytes(step_states)


_NEXT, _COLUMNS, STEP_EVENT, IN_STEP = _made()
"""`STEP_EVENT`: the event of a kind of step. `IN_STEP`: 1 for the states of a step, by number."""

del _made


def next_no(state_no, event_no):
    """The state after an event, by numbers. Raises IllegalTransition where no row is."""
    after = _NEXT[state_no * _COLUMNS + event_no]
    if after == NO_ROW:
        raise _ILLEGAL
    return after
