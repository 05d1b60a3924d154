"""The states of a rig and everything that may change them.

Two rules. All that changes a state is one of `rows`; this file does not know why an
event happens. A pair without a row raises IllegalTransition and changes nothing.

Heat is possible only in POWERED states. `off` is where every reset ends, `locked` where a rig
ends whose self-test or configuration failed. `stopped` is latched: only `cleared` leaves it,
which the device fires when the cause is gone and a person presses, and it leads to `off`, so a
press that clears a stop never starts. After a reset inside a batch the rig may `offer` to carry
on: that opens the same window as a request to start, and needs the same press. The step events
enter a step's state from `ready` (a fresh press), from another step, or back from `hands_in`.
"""

STATES = (
    "locked",
    "off",
    "ready",
    "melting",
    "resting",
    "cooling",
    "seeding",
    "rewarming",
    "working",
    "hands_in",
    "testing",
    "finished",
    "stopped",
)

STEP_STATE = {
    "melt": "melting",
    "rest": "resting",
    "cool": "cooling",
    "seed": "seeding",
    "rewarm": "rewarming",
    "work": "working",
}
_STEPS = ("melt", "rest", "cool", "seed", "rewarm", "work")
_STEP_STATES = tuple([STEP_STATE[kind] for kind in _STEPS])

POWERED = _STEP_STATES + ("testing",)
"""States in which an output may be on. In `hands_in` heat and stirrer are off."""

EVENTS = (
    ("unfit", "ask_start", "window_closed", "test", "lease_ended", "offer")
    + _STEPS
    + ("hands", "done", "off", "fault", "cleared")
)


def rows() -> tuple:
    """Rows (state, event, next state). `rigwire.views.TRANSITIONS` keeps them."""
    rows = [
        ("off", "unfit", "locked"),
        ("off", "ask_start", "ready"),
        ("off", "offer", "ready"),
        ("finished", "ask_start", "ready"),
        ("ready", "ask_start", "ready"),
        ("ready", "window_closed", "off"),
        ("ready", "test", "testing"),
        ("testing", "lease_ended", "off"),
        ("stopped", "cleared", "off"),
        # Off always works. It does not unlatch a stop, nor unlock a rig that is not fit.
        ("locked", "off", "locked"),
        ("stopped", "off", "stopped"),
    ]
    rows += [(state, "off", "off") for state in STATES if state not in ("locked", "stopped")]
    rows += [(state, "fault", "stopped") for state in STATES if state != "locked"]
    rows += [
        (state, kind, STEP_STATE[kind])
        for state in ("ready", "hands_in") + _STEP_STATES
        for kind in _STEPS
    ]
    rows += [(state, "hands", "hands_in") for state in _STEP_STATES]
    rows += [(state, "done", "finished") for state in _STEP_STATES]
    return tuple(rows)
