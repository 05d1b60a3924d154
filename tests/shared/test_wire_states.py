"""The state table: every pair of state and event, the refused ones included."""

from rigwire.errors import IllegalTransition
from rigwire.states import EVENTS, POWERED, STATES
from rigwire.tables import STEP_KINDS
from rigwire.views import TRANSITIONS, next_state
from wire_vectors import raises

STEPS_TO = {
    "melt": "melting",
    "rest": "resting",
    "cool": "cooling",
    "seed": "seeding",
    "rewarm": "rewarming",
    "work": "working",
}


def _with(more, steps=True):
    """Where a state with steps leads, written out again apart from the package's own rows."""
    wanted = {"off": "off", "fault": "stopped"}
    if steps:
        wanted.update(STEPS_TO)
    wanted.update(more)
    return wanted


_STEP = _with({"hands": "hands_in", "done": "finished"})
WANTED = {
    "locked": {"off": "locked"},
    "off": _with({"unfit": "locked", "ask_start": "ready", "offer": "ready"}, steps=False),
    "ready": _with({"ask_start": "ready", "window_closed": "off", "test": "testing"}),
    "melting": _STEP,
    "resting": _STEP,
    "cooling": _STEP,
    "seeding": _STEP,
    "rewarming": _STEP,
    "working": _STEP,
    "hands_in": _with({}),
    "testing": _with({"lease_ended": "off"}, steps=False),
    "finished": _with({"ask_start": "ready"}, steps=False),
    "stopped": {"off": "stopped", "fault": "stopped", "cleared": "off"},
}


def test_every_pair_of_state_and_event():
    """Each of the pairs leads where it should, or raises and leaves no trace."""
    pairs = 0
    for state in STATES:
        for event in EVENTS:
            pairs += 1
            if event in WANTED[state]:
                assert next_state(state, event) == WANTED[state][event], (state, event)
            else:
                assert raises(IllegalTransition, next_state, state, event), (state, event)
    assert pairs == 13 * 17


def test_each_pair_stands_once():
    """Two rows for one pair would make the table ambiguous."""
    pairs = [(state, event) for state, event, _after in TRANSITIONS]
    assert len(pairs) == len(set(pairs))


def test_unknown_names_are_refused():
    """A misspelt state or event is an illegal transition, not a silence."""
    assert raises(IllegalTransition, next_state, "melted", "off")
    assert raises(IllegalTransition, next_state, "off", "start")


def test_heat_needs_a_press():
    """From a state without power only `ready` and `hands_in` lead to a powered one."""
    for state, _event, after in TRANSITIONS:
        if after in POWERED and state not in POWERED:
            assert state in ("ready", "hands_in")


def test_a_stop_and_a_lock_stay():
    """Only `cleared` leaves stopped, and it leads to off; nothing leaves locked."""
    assert [row for row in TRANSITIONS if row[0] == "stopped" and row[2] != "stopped"] == [
        ("stopped", "cleared", "off")
    ]
    assert [row for row in TRANSITIONS if row[0] == "locked" and row[2] != "locked"] == []


def test_off_always_works():
    """Every state has an answer to off, and none of them is powered."""
    for state in STATES:
        assert next_state(state, "off") not in POWERED


def test_every_kind_of_step_has_its_event():
    """The kinds of the schedule are the step events of the table."""
    assert tuple(sorted(STEPS_TO)) == tuple(sorted(STEP_KINDS))
