"""Where this chocolate comes out right: low (or seeding) point and working temperature, as a map.

Every window that may be is held against the graded batches: a window is a range of low points and
a range of working temperatures, a batch inside comes out right. What is believed before any batch
is that the window lies about the usual schedule of its type; how far about, how wide it may be and
how many grades mislead are own choices, no source, and stand below. Bayes' rule does the rest, and
the share of windows that hold a place is the probability that a batch there comes out right.

A longer dwell at the low point makes as many crystals as a colder one. The crystal model
(`chocolate.crystals`, an estimate) says by how much, so that dwell and low point are one axis.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.quality.charts import Count, plain_counts

Floats = NDArray[np.float64]

SPREAD_C = (0.8, 0.5)
"""How far the middle of a window lies from the usual low point and working temperature, as a
standard deviation."""
HALF_C = (0.3, 0.8)
"""The least and most half width of a window, each axis by itself."""
MISLEADING = 0.12
"""Share of grades that say the contrary of what the bowl did."""
DWELL_C = 0.85
"""A dwell e times as long is as good as a low point so much lower: the crystal model, stirred, a
dark template at 28.0 degC for 5 min."""
USUAL_DWELL_S = 300.0
LEAST = 5
"""Below so many batches there are plain counts and no map (own choice)."""
STEP_C, COUNT_STEP_C = 0.1, 0.5
_REACH = 3.0  # standard deviations of the middle
_WIDTHS = 5


class Place(NamedTuple):
    """A low (or seeding) point and a working temperature, degC; the low one as at usual dwell."""

    low_c: float
    work_c: float


class Tried(NamedTuple):
    """A graded batch: what it was given, and whether its bars came out right.

    `low_c`: the low point, or where seed went in; `dwell_s` the time at the low point, None where
    it makes nothing, as with seed. `good` is what was graded.
    """

    run: int
    low_c: float
    work_c: float
    dwell_s: float | None
    good: bool

    @property
    def place(self) -> Place:
        """Where it is on the map."""
        return Place(at_usual_dwell(self.low_c, self.dwell_s), self.work_c)


def at_usual_dwell(low_c: float, dwell_s: float | None) -> float:
    """The low point that makes as many crystals in 5 minutes as this one in its dwell.

    A dwell of under a minute counts as one.
    """
    if dwell_s is None:
        return low_c
    return low_c - DWELL_C * math.log(max(dwell_s, 60.0) / USUAL_DWELL_S)


def for_dwell(low_c: float, dwell_s: float | None) -> float:
    """The contrary: the low point for this dwell that is `low_c` at the usual one."""
    return low_c + (low_c - at_usual_dwell(low_c, dwell_s))


class Ranges(NamedTuple):
    """One axis of the windows that may be: ranges about 0, and how likely each is before."""

    middle_c: Floats
    half_c: Floats
    share: Floats

    def hold(self, off_c: Floats) -> Floats:
        """1 where range (row) holds a place (column), else 0; places off the usual one."""
        held = np.abs(self.middle_c[:, None] - off_c) <= self.half_c[:, None] + 1e-9
        return held.astype(np.float64)


@lru_cache
def _ranges(spread_c: float) -> Ranges:
    """Middles by the normal distribution, half widths alike within their limits."""
    count = round(_REACH * spread_c / STEP_C)
    middles = np.arange(-count, count + 1) * STEP_C
    part = (HALF_C[1] - HALF_C[0]) / _WIDTHS
    halves = HALF_C[0] + part * (np.arange(_WIDTHS) + 0.5)
    middle, half = (one.ravel() for one in np.meshgrid(middles, halves, indexing="ij"))
    share = np.exp(-0.5 * (middle / spread_c) ** 2)
    return Ranges(middle, half, share / share.sum())


class Between(NamedTuple):
    """The middle of the window on one axis: most likely about, and in 90 of 100 from, to; degC."""

    low_c: float
    about_c: float
    high_c: float


@dataclass(frozen=True)
class WindowMap:
    """What the graded batches say of the window. `usual` is the place of the usual schedule."""

    usual: Place
    tried: tuple[Tried, ...]
    share: Floats
    """How likely each pair of ranges is now; rows the low point's, columns the working ones."""

    @property
    def is_enough(self) -> bool:
        """False below 5 batches: then no probability should be shown."""
        return len(self.tried) >= LEAST

    def after(self, one: Tried) -> "WindowMap":
        """What one more graded batch makes of it."""
        lows, works = _axes()
        low = lows.hold(np.array([one.place.low_c - self.usual.low_c]))
        work = works.hold(np.array([one.place.work_c - self.usual.work_c]))
        right = MISLEADING + (1 - 2 * MISLEADING) * (low @ work.T)
        share = self.share * (right if one.good else 1 - right)
        # A product of many would vanish, so the sum is kept at 1.
        return WindowMap(self.usual, (*self.tried, one), share / share.sum())

    def right(self, low_c: Floats, work_c: Floats) -> Floats:
        """Probability 0..1 that a batch comes out right, for each low point (rows, as at usual
        dwell) and working temperature (columns)."""
        lows, works = _axes()
        held = lows.hold(low_c - self.usual.low_c).T @ self.share
        return held @ works.hold(work_c - self.usual.work_c)

    def right_at(self, place: Place) -> float:
        """The same of one place."""
        return float(self.right(np.array([place.low_c]), np.array([place.work_c]))[0, 0])

    def middles(self) -> tuple[Between, Between]:
        """Where the middle of the window lies: low (or seeding) point, working temperature."""
        lows, works = _axes()
        return (
            _between(lows.middle_c, self.share.sum(axis=1), self.usual.low_c),
            _between(works.middle_c, self.share.sum(axis=0), self.usual.work_c),
        )

    def counts(self) -> tuple[list[Count], list[Count]]:
        """How many were good at which low point and working temperature, to half a degree."""
        good = [one.good for one in self.tried]
        return (
            plain_counts([one.place.low_c for one in self.tried], good, COUNT_STEP_C),
            plain_counts([one.work_c for one in self.tried], good, COUNT_STEP_C),
        )


def _axes() -> tuple[Ranges, Ranges]:
    return _ranges(SPREAD_C[0]), _ranges(SPREAD_C[1])


def _between(middle_c: Floats, share: Floats, usual_c: float) -> Between:
    order = np.argsort(middle_c, kind="stable")
    summed = np.cumsum(share[order])
    at = np.searchsorted(summed, np.array([0.05, 0.5, 0.95]) * summed[-1])
    return Between(*(float(middle_c[order][n]) + usual_c for n in at))


def window_map(usual: Place, tried: Sequence[Tried] = ()) -> WindowMap:
    """Hold every window against the batches; none at all gives what is believed beforehand.

    The order of the batches does not matter.
    """
    lows, works = _axes()
    found = WindowMap(usual, (), np.outer(lows.share, works.share))
    for one in tried:
        found = found.after(one)
    return found
