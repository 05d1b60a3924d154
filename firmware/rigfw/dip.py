"""Seed that nobody announced: the chocolate dips faster than still air can cool it."""

from array import array

from rigfw import limits


class DipWatch:
    """The last `span_s` readings, one a second. Integers; `second` allocates nothing.

    Fed with negative readings it watches for rises.
    """

    def __init__(self, span_s=limits.DIP_S, least_mc=limits.DIP_MC):
        self._span_s = span_s
        self._least_mc = least_mc
        self._values_mc = array("i", bytes(4 * span_s))
        self._count = 0

    def clear(self):
        """Forget: what came before does not belong to this step."""
        self._count = 0

    def second(self, product_mc):
        """The drop in mC within the span once it is a dip, else 0."""
        values = self._values_mc
        values[self._count % self._span_s] = product_mc
        self._count += 1
        held = min(self._count, self._span_s)
        highest = product_mc
        for at in range(held):
            highest = max(highest, values[at])
        drop_mc = highest - product_mc
        return drop_mc if drop_mc >= self._least_mc else 0
