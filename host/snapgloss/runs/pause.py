"""The words of a pause in mid-batch, which the rig calls `hands_in`: why it stands, what brings
it back, and that it went on.

Its cause comes in an event of its own, right behind the change of state. That only a press goes
on after `limits.HANDS_MS` is the rig's own rule; it says so on its display, and sends nothing.
"""

from rigfw import limits
from rigwire.states import STEP_STATE
from snapgloss.base.records import Event
from snapgloss.base.units import show_span
from snapgloss.link.decode import state_name

UNKNOWN = 0
WHY = (
    "Heat and stirrer are off while your hands are in. Put the bowl back.",
    "Pedal down: heat and stirrer are off. Let it go when you are done.",
    "Bowl lifted: heat and stirrer are off. Put it back when you are done.",
    "The chocolate reading fell or jumped: cold seed, hands, or is the probe out? Heat is off. "
    "It goes on when the reading is back, or press start with the probe in the chocolate.",
    "The stirrer stands still: heat is off. Free it, then press start.",
    "The chocolate probe does not follow the heat: is it in the chocolate? "
    "Press start when it is.",
)
LATE = (
    "Put the bowl back, then press start",
    "Let the pedal go, then press start",
    "Put the bowl back, then press start",
    "See that the probe is in the chocolate, then press start",
    "Free the stirrer, then press start",
    "See that the probe is in the chocolate, then press start",
)
ONLY = f"{{first}}: after {show_span(limits.HANDS_MS // 1000)} it goes on by that alone."
WENT_ON = "Went on."


class Pause:
    """Follows one pause after another. `words` is what to do now, "" outside of one."""

    def __init__(self) -> None:
        self._cause = UNKNOWN
        self._since_ms: int | None = None
        self._is_late = False

    @property
    def words(self) -> str:
        """What brings the batch back."""
        return ONLY.format(first=LATE[self._cause]) if self._is_late else WHY[self._cause]

    def take_event(self, event: Event) -> str | None:
        """Follow an event; return the line it is worth, or None."""
        if event.kind == "hands":
            self._cause = event.a if 0 <= event.a < len(WHY) else UNKNOWN
            return self.words
        if event.kind != "state":
            return None
        self._cause, self._is_late = UNKNOWN, False
        self._since_ms = event.at_ms if state_name(event.a) == "hands_in" else None
        went_on = state_name(event.b) == "hands_in" and state_name(event.a) in STEP_STATE.values()
        return WENT_ON if went_on else None

    def take_time(self, at_ms: int) -> str | None:
        """Follow the device's clock in a pause; return the line from where only a press goes on.

        A pause that was joined counts from then: the rig may know better.
        """
        if self._since_ms is None:
            self._since_ms = at_ms
        if self._is_late or at_ms - self._since_ms < limits.HANDS_MS:
            return None
        self._is_late = True
        return self.words
