"""Readings in a pause that nobody declared: do they stand still, are they warmer than they may be.

A scraper sweeps the probe along a wall that may be much hotter than the chocolate, so a warm
reading is no fault for as long as scraping takes: nothing is heated meanwhile. Integers only,
allocates nothing after it is made.
"""

from rigfw import limits


class Calm:
    """`steady_ms` the reading has stood still, `warm_ms` it was above what a ladle could make."""

    def __init__(self):
        self.begin(0)

    def begin(self, product_mc):
        """A pause begins at this reading."""
        self._from_mc = product_mc
        self.steady_ms = self.warm_ms = 0

    def step(self, product_mc, warmest_mc, passed_ms):
        """One pass; `warmest_mc` is the most that is believed of the chocolate."""
        if not -limits.STEADY_MC <= product_mc - self._from_mc <= limits.STEADY_MC:
            self._from_mc = product_mc
            self.steady_ms = 0
        self.steady_ms += passed_ms
        self.warm_ms = self.warm_ms + passed_ms if product_mc > warmest_mc else 0
