"""The next schedule to try, inside what is safe and no large step from what was tried."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.window import STEP_C, Floats, Place, WindowMap

Aim = Literal["good", "learn"]

FARTHEST_C = Place(1.0, 0.7)
"""Steps from the nearest batch that was tried, or from the usual schedule: no farther on either
axis (own choice)."""
LANDED_C = 0.2
"""Half of all batches land on their target, half anywhere so far from it on either axis; a place
is worth the mean over that, so that none at the very edge is suggested (own choice)."""
BEYOND_MC = 1000
"""A low point lies within so much of the type's usual range (own choice)."""
REWARM_LEAST_MC = 1000
"""A rewarm rises so much at least (own choice)."""


class Safe(NamedTuple):
    """What is never left, milli-degC, ends included; a working temperature is at least
    `rewarm_least_mc` above its low point, None where there is no rewarm."""

    low_least_mc: int
    low_most_mc: int
    work_least_mc: int
    work_most_mc: int
    rewarm_least_mc: int | None = None


def safe_ranges(kind: ChocolateType, method: str) -> Safe:
    """The ranges of a type. Work: what keeps it thin, and its cap. Seed: where it survives and is
    spread. Low point: a degree beyond the usual range at most. Raises InputError for a method that
    has neither low point nor seed."""
    work = (kind.work_low_mc, kind.cap_mc)
    if method == "cooled":
        return Safe(
            kind.cool.low_mc - BEYOND_MC, kind.cool.high_mc + BEYOND_MC, *work, REWARM_LEAST_MC
        )
    if method == "seeded":
        return Safe(kind.seed_low_mc, kind.seed_high_mc, *work)
    raise InputError(
        "Chocolate that was kept in temper has no low point and no seed: there is no window to "
        "look for.",
        "Ask for a chocolate that is cooled or seeded.",
    )


def usual_place(kind: ChocolateType, method: str) -> Place:
    """Low or seeding point and working temperature of the usual schedule."""
    low_mc = kind.cool.default_mc if method == "cooled" else kind.seed_at_mc
    return Place(low_mc / 1000, kind.work.default_mc / 1000)


@dataclass(frozen=True)
class Grid:
    """Places that may be suggested: tenths of a degree, and whether each is allowed."""

    low_c: Floats
    work_c: Floats
    allowed: NDArray[np.bool_]


def grid(found: WindowMap, safe: Safe) -> Grid:
    """The safe places near enough to what was tried. Raises InputError when there is none."""
    low_c = _tenths(safe.low_least_mc, safe.low_most_mc)
    work_c = _tenths(safe.work_least_mc, safe.work_most_mc)
    near = np.zeros((len(low_c), len(work_c)), dtype=bool)
    for place in (found.usual, *(one.place for one in found.tried)):
        low_near = np.abs(low_c - place.low_c) <= FARTHEST_C.low_c + 1e-9
        work_near = np.abs(work_c - place.work_c) <= FARTHEST_C.work_c + 1e-9
        near |= np.outer(low_near, work_near)
    if safe.rewarm_least_mc is not None:
        near &= work_c - low_c[:, None] >= safe.rewarm_least_mc / 1000 - 1e-9
    allowed: NDArray[np.bool_] = near
    return Grid(low_c, work_c, allowed)


def _tenths(least_mc: int, most_mc: int) -> Floats:
    """Tenths of a degree inside, both ends taken inwards."""
    step_mc = round(1000 * STEP_C)
    steps = np.arange(-(-least_mc // step_mc), most_mc // step_mc + 1, dtype=np.float64)
    return steps * STEP_C


class Suggested(NamedTuple):
    """A place to try next, and the probability that it comes out right."""

    place: Place
    right: float
    aim: Aim


def suggest(found: WindowMap, safe: Safe, aim: Aim = "good") -> Suggested:
    """The place where most windows agree that a batch that lands about there comes out right; with
    "learn" the one whose
    grade is most open. With misleading grades equally likely everywhere, that grade tells most of
    the window: it has the greatest mutual information with it.

    Of equal places the one in their middle. Raises InputError when no place is safe.
    """
    on = grid(found, safe)
    right = found.right(on.low_c, on.work_c)
    worth = (right + _landed(found, on)) / 2 if aim == "good" else -np.abs(right - 0.5)
    if not on.allowed.any():
        raise InputError(
            "Nothing safe lies near what was tried.", "Begin from the usual schedule."
        )
    worth = np.where(on.allowed, worth, -np.inf)
    row, column = _middle(np.argwhere(worth >= worth.max() - 1e-9))
    place = Place(round(float(on.low_c[row]), 1), round(float(on.work_c[column]), 1))
    return Suggested(place, float(right[row, column]), aim)


def _landed(found: WindowMap, on: Grid) -> Floats:
    """The mean of the probability about each place of the grid."""
    around = round(LANDED_C / STEP_C)
    span = 2 * around + 1
    wide = found.right(_wider(on.low_c, around), _wider(on.work_c, around))
    means: Floats = sliding_window_view(wide, (span, span)).mean(axis=(-2, -1))
    return means


def _wider(at_c: Floats, around: int) -> Floats:
    wider: Floats = at_c[0] + np.arange(-around, len(at_c) + around) * STEP_C
    return wider


def _middle(places: NDArray[np.intp]) -> Sequence[int]:
    """The one nearest to the mean of them."""
    off = ((places - places.mean(axis=0)) ** 2).sum(axis=1)
    found: list[int] = places[int(off.argmin())].tolist()
    return found
