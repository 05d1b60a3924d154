"""How many bars a run gave, and whether what was weighed agrees with the label."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from snapgloss.base.errors import InputError

# Council Directive 76/211/EEC, Annex I, 2.4 (read at legislation.gov.uk/eudr/1976/211): how far a
# package may lie under its label. From, percent of the label or else grams.
_TOLERABLE = (
    (5, 9.0, None), (50, None, 4.5), (100, 4.5, None), (200, None, 9.0), (300, 3.0, None),
    (500, None, 15.0), (1000, 1.5, None),
)  # fmt: skip
COUNTED = ("made", "sold", "seconds", "remelt")
COUNT_MOST = 100_000


class NetWeights(NamedTuple):
    """Bars of one label on the scale, in grams.

    `short`: bars under the label by more than is tolerable; `far_short`: by more than twice that.
    """

    label_g: float
    weighed: int
    mean_g: float
    least_g: float
    most_g: float
    tolerable_g: float | None
    short: int
    far_short: int

    @property
    def words(self) -> str:
        """What was weighed, and what is wrong with it."""
        said = (
            f"{self.weighed} weighed, label {self.label_g:g} g: mean {self.mean_g:.1f} g, "
            f"{self.least_g:.1f} to {self.most_g:.1f} g."
        )
        if self.mean_g < self.label_g:
            said += " On average under the label: fill more."
        if self.short and self.tolerable_g is not None:
            said += f" {self.short} short by more than {self.tolerable_g:.1f} g."
        return said


def check_counts(counts: Mapping[str, int | None]) -> dict[str, int | None]:
    """Return the counts by name; raises InputError when they cannot all be so."""
    found = {name: counts.get(name) for name in COUNTED}
    given = [count for count in found.values() if count is not None]
    if not given:
        raise InputError("No count was given.", "Say how many were made, sold and so on.")
    if any(not 0 <= count <= COUNT_MOST for count in given):
        raise InputError("That is no number of bars.", f"Give 0 to {COUNT_MOST}.")
    made = found["made"]
    parts = sum(found[name] or 0 for name in COUNTED[1:])
    if made is not None and parts > made:
        raise InputError(
            f"{parts} bars sold, seconds and re-melt are more than the {made} made.",
            "Count again.",
        )
    return found


def count_words(counts: Mapping[str, int | None]) -> str:
    """ "48 made: 40 sold, 6 seconds, 2 re-melt."; what was not counted is left out."""
    named = (("sold", "sold"), ("seconds", "seconds"), ("remelt", "re-melt"))
    parts = [f"{counts[key]} {word}" for key, word in named if counts.get(key) is not None]
    made = counts.get("made")
    head = "" if made is None else f"{made} made"
    return f"{head}{': ' if head and parts else ''}{', '.join(parts)}."


def standing_weights(nets_mg: Sequence[int]) -> list[int]:
    """The weights that stand, oldest first: those after the last 0, which takes back the rest."""
    last = max((n for n, net_mg in enumerate(nets_mg) if net_mg == 0), default=-1)
    return list(nets_mg[last + 1 :])


def net_weights(label_mg: int, nets_mg: Sequence[int]) -> NetWeights:
    """Compare net weights with their label; both in milligrams, at least one weight."""
    allowed_g = tolerable_g(label_mg / 1000)
    under_g = [(label_mg - net_mg) / 1000 for net_mg in nets_mg]
    short = [g for g in under_g if allowed_g is not None and g > allowed_g]
    return NetWeights(
        label_mg / 1000,
        len(nets_mg),
        sum(nets_mg) / len(nets_mg) / 1000,
        min(nets_mg) / 1000,
        max(nets_mg) / 1000,
        allowed_g,
        len(short),
        sum(g > 2 * (allowed_g or 0) for g in short),
    )


def tolerable_g(label_g: float) -> float | None:
    """How far one bar may be under its label, by Directive 76/211/EEC; None outside 5 g to 10 kg.

    Percentages are rounded up to a tenth of a gram, as the directive has it. Other countries have
    other rules: your own inspector's count.
    """
    if not 5 <= label_g <= 10_000:
        return None
    _, percent, grams = next(row for row in reversed(_TOLERABLE) if label_g >= row[0])
    if percent is None:
        return grams
    return math.ceil(round(label_g * percent / 10, 6)) / 10
