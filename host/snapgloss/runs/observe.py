"""The host's mirror of the device's states: it follows, it never leads.

The device owns its state. The mirror says only whether a move it reports is one that the table
of rigwire.states knows; one that is not is a warning to write down, never a reason to fail.
"""

from typing import Any

from transitions import Machine

from rigwire import states, views


class Mirror:
    """The state the device last reported, as a `transitions` machine over the shared table."""

    def __init__(self, state: str) -> None:
        known = [*states.STATES, *([] if state in states.STATES else [state])]
        rows = [
            {"trigger": event, "source": old, "dest": new} for old, event, new in views.TRANSITIONS
        ]
        self._machine: Any = Machine(
            states=known, initial=state, transitions=rows, auto_transitions=False
        )

    @property
    def state(self) -> str:
        """The device's state, as far as the host has heard."""
        return str(self._machine.state)

    def adopt(self, state: str) -> None:
        """Take over a state that a reading or a status shows."""
        if state not in self._machine.states:
            self._machine.add_state(state)  # of a newer rig
        self._machine.set_state(state)

    def follow(self, old: str, new: str) -> str | None:
        """Make the move the device reports; return a warning when the table does not know it."""
        event = _event(old, new)
        if event is None:
            self.adopt(new)
            return f"The rig went from {old} to {new}, which its table of states does not know."
        self.adopt(old)
        self._machine.trigger(event)
        return None


def _event(old: str, new: str) -> str | None:
    return next((event for a, event, b in views.TRANSITIONS if (a, b) == (old, new)), None)
