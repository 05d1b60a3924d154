"""How much earlier or later than usual the steps of a batch may end: nine in ten bowls."""

from collections.abc import Sequence

import numpy as np

from snapgloss.schedules.travel import Leg

NINE_IN_TEN = (5.0, 50.0, 95.0)

Spread = tuple[tuple[tuple[int, int], ...], ...]
"""For each step that a batch may stand in, and each from there to the last: seconds by which its
end may come earlier, and later, than in the middle of the bowls, counted from the beginning of
the first of the two. Empty where it is not known."""


def spread_of(legs: Sequence[Leg]) -> Spread:
    """Return the spread of bowls that went through all steps; those that never end are left out.

    Steps of one bowl belong together, so what one is late with is not counted twice.
    """
    reach_s = 60 * np.array([leg.reach_min for leg in legs])
    reach_s = reach_s[:, np.isfinite(reach_s).all(axis=0)]
    if not reach_s.size:
        return ()
    return tuple(_from(reach_s[first:]) for first in range(len(legs)))


def _from(reach_s: "np.ndarray") -> tuple[tuple[int, int], ...]:
    low, middle, high = np.percentile(np.cumsum(reach_s, axis=0), NINE_IN_TEN, axis=1)
    return tuple(
        (round(early), round(late))
        for early, late in zip(middle - low, high - middle, strict=True)
    )
