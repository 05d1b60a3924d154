"""Individuals and moving-range charts: does a figure of a batch stray more than it usually does?

Limits lie 2.66 mean moving ranges from the mean, that is 3 standard deviations of 1/d2 mean moving
ranges each (d2 = 1.128 for ranges of two); the range's own limit is D4 = 3.267 mean moving ranges.
Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, from memory; both constants are
checked in the tests by integrating the normal distribution.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

from snapgloss.base.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

D2, D4 = 1.128, 3.267
LIMIT = 3 / D2  # 2.66
IN_A_ROW = 8
LEAST, FIRM = 8, 20
"""Below LEAST values no limits are drawn; below FIRM they are called provisional. Practice."""

Rule = Literal["outside", "row", "jump"]
RULE_WORDS = {
    "outside": "outside its limits",
    "row": f"one of {IN_A_ROW} in a row on one side of the mean",
    "jump": "a larger jump from the batch before than usual",
}


class Signal(NamedTuple):
    """A batch that strays, by its place in the chart, and the rule that says so."""

    at: int
    rule: Rule


@dataclass(frozen=True)
class Chart:
    """The values in order of time with what is usual of them; limits None below LEAST values.

    `mean_range` is None for fewer than two values.
    """

    values: tuple[float, ...]
    mean: float
    mean_range: float | None
    low: float | None
    high: float | None
    range_high: float | None
    signals: tuple[Signal, ...]

    @property
    def words(self) -> str:
        """How much may be said from so few or so many."""
        count = len(self.values)
        if count < LEAST:
            few = "1 batch is" if count == 1 else f"{count} batches are"
            return f"{few} too few for limits; {LEAST} are needed."
        provisional = f" {count} batches: limits are provisional." if count < FIRM else ""
        if not self.signals:
            return f"Nothing strays.{provisional}"
        return f"{len({s.at for s in self.signals})} of {count} batches stray.{provisional}"


def individuals(values: Sequence[float]) -> Chart:
    """Chart values in order of time. Raises InputError for none, and for one that is no number.

    Rules: a value outside the limits; 8 in a row on one side of the mean of those inside (the
    eighth and later are marked); a moving range over its limit.
    """
    if not values:
        raise InputError("There is no batch with this figure.", "Temper one, or choose another.")
    if not all(math.isfinite(value) for value in values):
        raise InputError("A figure is no number.", "Work the figures out anew.")
    mean = sum(values) / len(values)
    ranges = [abs(b - a) for a, b in pairwise(values)]
    mean_range = sum(ranges) / len(ranges) if ranges else None
    if mean_range is None or len(values) < LEAST:
        return Chart(tuple(values), mean, mean_range, None, None, None, ())
    low, high = mean - LIMIT * mean_range, mean + LIMIT * mean_range
    hair = 1e-9 * max(1.0, abs(mean))  # equal values stray by no rounding of ours
    usual = (low - hair, high + hair)
    signals = [Signal(n, "outside") for n, v in enumerate(values) if not usual[0] <= v <= usual[1]]
    inside = [v for v in values if usual[0] <= v <= usual[1]]  # one odd batch is no row of others
    middle = sum(inside) / len(inside) if inside else mean
    signals += [Signal(n, "row") for n in _rows([v - middle for v in values], hair)]
    signals += [Signal(n + 1, "jump") for n, r in enumerate(ranges) if r > D4 * mean_range + hair]
    return Chart(
        tuple(values), mean, mean_range, low, high, D4 * mean_range, tuple(sorted(signals))
    )


def _rows(off: Sequence[float], hair: float) -> list[int]:
    """Places that end a row of 8 or more on one side; within a hair of the mean is neither."""
    found, side, length = [], 0, 0
    for at, value in enumerate(off):
        now = (value > hair) - (value < -hair)
        length = length + 1 if now == side and now else 1
        side = now
        if length >= IN_A_ROW:
            found.append(at)
    return found


class Change(NamedTuple):
    """A figure before and after something changed."""

    before: int
    after: int
    mean_before: float
    mean_after: float
    chance: float
    """How often so large a difference comes about when these batches are dealt out by chance."""

    @property
    def words(self) -> str:
        """What may be said, and what not."""
        least = 2 / math.comb(self.before + self.after, self.before)
        if least > SURE:
            return (
                f"{self.before} before and {self.after} after are too few to tell a change from "
                "chance."
            )
        told = "more than chance" if self.chance <= SURE else "no more than chance may do"
        deals = f"{self.chance * 100:.0f}" if self.chance >= 0.005 else "fewer than 1"
        return f"The difference is {told}: {deals} in 100 deals are as large."


SURE = 0.05
MOST_DEALS = 20_000


def change(before: Sequence[float], after: Sequence[float]) -> Change:
    """Compare the means of two sets of batches by dealing them out anew (a permutation test).

    Every deal is tried up to 20,000 of them, else as many drawn with a fixed seed. Raises
    InputError when a side is empty.
    """
    if not before or not after:
        raise InputError("There are no batches on one side of the change.", "Choose another.")
    import numpy as np

    whole = np.array([*before, *after], dtype=float)
    seen = abs(float(np.mean(after)) - float(np.mean(before)))
    sums = _deals(whole, len(before))
    means = sums / len(before) - (whole.sum() - sums) / len(after)
    chance = float(np.mean(np.abs(means) >= seen - 1e-12))
    return Change(len(before), len(after), float(np.mean(before)), float(np.mean(after)), chance)


def _deals(whole: "NDArray[np.float64]", count: int) -> "NDArray[np.float64]":
    """Sums of `count` of the values, over all deals or many drawn ones."""
    import numpy as np

    if math.comb(len(whole), count) <= MOST_DEALS:
        return np.array([sum(part) for part in combinations(whole.tolist(), count)])
    generator = np.random.default_rng(1)
    return np.array([generator.permutation(whole)[:count].sum() for _ in range(MOST_DEALS)])


class Count(NamedTuple):
    """How many of the batches at about one value were good; `low` to `high` of 100 may be so."""

    at: float
    good: int
    of: int
    low: float
    high: float


def plain_counts(values: Sequence[float], good: Sequence[bool], step: float) -> list[Count]:
    """Count the good ones at each `step` of a figure, with Wilson's 95 % interval in percent.

    E. B. Wilson (1927), J. Am. Stat. Assoc. 22, 209-212, from memory.
    """
    groups: dict[float, list[bool]] = {}
    for value, one in zip(values, good, strict=True):
        groups.setdefault(round(round(value / step) * step, 6), []).append(one)
    return [
        Count(at, sum(group), len(group), *_wilson(sum(group), len(group)))
        for at, group in sorted(groups.items())
    ]


def _wilson(good: int, count: int) -> tuple[float, float]:
    z = 1.959964
    middle = (good + z * z / 2) / (count + z * z)
    half = z / (count + z * z) * math.sqrt(good * (count - good) / count + z * z / 4)
    return 100 * max(0.0, middle - half), 100 * min(1.0, middle + half)
