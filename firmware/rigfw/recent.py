"""The warmest that the chocolate was in the last minutes: a dip by hands does not change it.

A scraper, a lifted bowl or a cold handful takes the reading down within seconds; it comes back.
Chocolate itself stays about as warm as it was. Integers only; allocates nothing after it is made.
"""

from array import array

from rigfw import limits
from rigwire.messages import MISSING_MC


class Recent:
    """Highest believed reading of the last RECENT_SLOTS * RECENT_SLOT_MS, in mC."""

    def __init__(self):
        self._slots_mc = array("i", bytes(4 * limits.RECENT_SLOTS))
        self._at = 0  # the present slot, in a ring: any will do to begin with
        self.begin(MISSING_MC)

    def begin(self, product_mc):
        """Forget the past."""
        for at in range(limits.RECENT_SLOTS):
            self._slots_mc[at] = product_mc
        self._slot_ms = 0

    def note(self, product_mc):
        """One more believed reading."""
        self._slots_mc[self._at] = max(self._slots_mc[self._at], product_mc)

    def tick(self, passed_ms, product_mc):
        """Time goes on; a new slot begins with what is believed then."""
        self._slot_ms += passed_ms
        if self._slot_ms >= limits.RECENT_SLOT_MS:
            self._slot_ms = 0
            self._at = (self._at + 1) % limits.RECENT_SLOTS
            self._slots_mc[self._at] = product_mc

    def earlier_mc(self):
        """The warmest before the present slot, MISSING_MC when nothing was believed then."""
        highest_mc = MISSING_MC
        for at in range(limits.RECENT_SLOTS):
            if at != self._at:
                highest_mc = max(highest_mc, self._slots_mc[at])
        return highest_mc

    def highest_mc(self):
        """The warmest, MISSING_MC when nothing was believed yet."""
        highest_mc = MISSING_MC
        for at in range(limits.RECENT_SLOTS):
            highest_mc = max(highest_mc, self._slots_mc[at])
        return highest_mc
