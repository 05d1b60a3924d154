"""What changed between the good batches of a rig and the bad ones: figures side by side, ranked.

Numbers by an exact rank test (Mann and Whitney 1947, scipy), bags by Fisher's exact test (scipy).
Several things are looked at, so a chance is multiplied by how many that were (Holm 1979, from
memory). Both groups are mostly small: under LEAST_GOOD or LEAST_BAD nothing is said, and what goes
with the bad batches need not have made them bad.
"""

import math
from collections.abc import Callable, Sequence
from statistics import median
from typing import NamedTuple

from scipy.stats import fisher_exact, mannwhitneyu

from snapgloss.quality.causes import show_figure

LEAST_GOOD, LEAST_BAD = 4, 4
SURE = 0.05
"""Above this chance nothing is said to have changed (common practice)."""
WORDS = {
    "fan_share": ("The fan took {less} heat: {bad} of the distance to the room a minute and kilo, "
                  "{good} in the good ones."),
    "plate_k": ("Plate and chocolate's probe stood {bad} apart without heat, {good} in the good "
                "ones: one of them may read wrong."),
    "gap_k": ("The plate had to be {bad} over the chocolate for full heat, {good} in the good "
              "ones: stirring, or how the bowl sits."),
    "room_c": "The room was at {bad}, {good} in the good ones.",
    "remelt_share": "{bad} of the bowl had been tempered before, {good} in the good ones.",
}  # fmt: skip
"""What is compared, by name; each name ends in its unit. The middle values are shown."""


class Batch(NamedTuple):
    """A graded batch: its number, whether it was graded to sell, its figures by name (unknown ones
    left out), and the lots of its bags."""

    run: int
    is_good: bool
    figures: dict[str, float]
    lots: frozenset[str]


class Change(NamedTuple):
    """What differs: `chance` that as much differs by luck alone, over all that was looked at;
    `good` and `bad` the middle values, or the shares of batches with that bag; how many of each.
    """

    name: str
    chance: float
    good: float
    bad: float
    good_count: int
    bad_count: int
    words: str


class Changes(NamedTuple):
    """A sentence, then what changed, the surest first, then what was looked at besides."""

    words: str
    changed: list[Change]
    same: list[Change]


def changes_of(batches: Sequence[Batch], fahrenheit: bool = False) -> Changes:
    """Compare the good batches with the bad ones."""
    good = [one for one in batches if one.is_good]
    bad = [one for one in batches if not one.is_good]
    told = f"{len(good)} good {_batches(len(good))}, {len(bad)} bad"
    if len(good) < LEAST_GOOD or len(bad) < LEAST_BAD:
        least = f"{LEAST_GOOD} good and {LEAST_BAD} bad"
        return Changes(f"Not enough batches: {told}; at least {least} are needed.", [], [])
    found = [one for name in WORDS if (one := _number(name, good, bad, fahrenheit)) is not None]
    lots = sorted(set().union(*(one.lots for one in batches)))
    found += [one for lot in lots if (one := _bag(lot, good, bad)) is not None]
    ranked = holm(sorted(found, key=lambda one: one.chance))
    changed = [one for one in ranked if one.chance <= SURE]
    same = [one for one in ranked if one.chance > SURE]
    return Changes(_sentence(told, changed), changed, same)


def _sentence(told: str, changed: Sequence[Change]) -> str:
    if not changed:
        return f"Nothing changed that {told} could show."
    return (
        f"{changed[0].words} That goes with the bad batches ({told}); try it before you trust it."
    )


def _batches(count: int) -> str:
    return "batch" if count == 1 else "batches"


def _number(
    name: str, good: Sequence[Batch], bad: Sequence[Batch], fahrenheit: bool
) -> Change | None:
    """One figure; None where too few batches have it."""
    of_good = [one.figures[name] for one in good if name in one.figures]
    of_bad = [one.figures[name] for one in bad if name in one.figures]
    if len(of_good) < LEAST_GOOD or len(of_bad) < LEAST_BAD:
        return None
    chance = float(mannwhitneyu(of_good, of_bad, alternative="two-sided").pvalue)
    middle_good, middle_bad = median(of_good), median(of_bad)
    show: Callable[[float], str] = lambda value: _shown(name, value, fahrenheit)  # noqa: E731
    words = WORDS[name].format(
        good=show(middle_good), bad=show(middle_bad),
        less="less" if middle_bad < middle_good else "more",
    )  # fmt: skip
    return Change(name, 1.0 if math.isnan(chance) else chance, middle_good, middle_bad,
                  len(of_good), len(of_bad), words)  # fmt: skip


def _shown(name: str, value: float, fahrenheit: bool) -> str:
    if name == "fan_share":
        return f"{100 * value:.1f} %"
    return show_figure(name, value, fahrenheit)


def _bag(lot: str, good: Sequence[Batch], bad: Sequence[Batch]) -> Change | None:
    """One bag, among the batches whose bags are known."""
    of_good = [lot in one.lots for one in good if one.lots]
    of_bad = [lot in one.lots for one in bad if one.lots]
    if len(of_good) < LEAST_GOOD or len(of_bad) < LEAST_BAD:
        return None
    table = [[sum(of_good), len(of_good) - sum(of_good)], [sum(of_bad), len(of_bad) - sum(of_bad)]]
    chance = float(fisher_exact(table)[1])
    words = (
        f"Bag {lot} was in {sum(of_bad)} of {len(of_bad)} bad batches and in {sum(of_good)} of "
        f"{len(of_good)} good ones."
    )
    return Change(f"bag {lot}", chance, sum(of_good) / len(of_good), sum(of_bad) / len(of_bad),
                  len(of_good), len(of_bad), words)  # fmt: skip


def holm(found: Sequence[Change]) -> list[Change]:
    """Return the changes, the surest first already, with the chance over all of them together."""
    adjusted, least = [], 0.0
    for at, one in enumerate(found):
        least = max(least, min(1.0, one.chance * (len(found) - at)))
        adjusted.append(one._replace(chance=least))
    return adjusted
