"""Seed that nobody announced: the chocolate dips faster than still air can cool it."""

from array import array

from rigfw import limits


class DipWatch:
    """The last DIP_S readings, one a second. Integers; `second` allocates nothing."""

    def __init__(self):
        self._values_mc = array("i", bytes(4 * limits.DIP_S))
        self._count = 0

    def clear(self):
        """Forget: what came before does not belong to this step."""
        self._count = 0

    def second(self, product_mc):
        """The drop in mC within the last DIP_S seconds once it is a dip, else 0."""
        values = self._values_mc
        values[self._count % limits.DIP_S] = product_mc
        self._count += 1
        held = min(self._count, limits.DIP_S)
        highest = product_mc
        for at in range(held):
            highest = max(highest, values[at])
        drop_mc = highest - product_mc
        return drop_mc if drop_mc >= limits.DIP_MC else 0
