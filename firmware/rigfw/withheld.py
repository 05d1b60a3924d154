"""What takes heat away right now, and its two events. Allocates nothing."""

from rigfw import limits

EV_WITHHELD = 10
EV_GIVEN_BACK = 11


class Withheld:
    """`code` is the stop code that keeps heat at 0 in this pass, 0 when none does.

    The code follows at once, both ways. Its end is noted only after CALM_MS without it, so that
    a reading at the edge of a limit cannot fill the journal's events.
    """

    def __init__(self, journal):
        self._journal = journal
        self.code = 0
        self._noted = 0
        self._calm_ms = 0

    def now(self, code, value, passed_ms):
        """The code of this pass."""
        self.code = code
        if code:
            self._calm_ms = 0
            if code != self._noted:
                self._end()
                self._noted = code
                self._journal.note(EV_WITHHELD, code, value)
        elif self._noted:
            self._calm_ms += passed_ms
            if self._calm_ms >= limits.CALM_MS:
                self._end()

    def clear(self):
        """Nothing is withheld any more: all is off."""
        self.code = 0
        self._end()

    def _end(self):
        if self._noted:
            self._journal.note(EV_GIVEN_BACK, self._noted)
            self._noted = 0
