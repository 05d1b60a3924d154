"""Three bands of the set ratio for each method, and how a maker's own graded bars move them.

The first edges come from our own crystal model, with nothing measured behind them: they are
"not calibrated". Each edge moves towards where the maker's bars turn from sold to not sold, and
counts as calibrated once enough bars lie on both of its sides; which side a bar that failed lies
on is seen from the bars that sold. R mixes how much seed there is with how fine it is, so no band
serves two methods, nor chopped seed and cocoa-butter crystals.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from snapgloss.base.errors import InputError

Place = Literal["under", "in", "over"]
Grade = Literal["sell", "seconds", "remelt"]
Fault = Literal["film", "dull", "streaks", "spots", "soft", "no_release", "cracks"]
METHODS = ("seeded", "crystals", "cooled", "kept")
CRYSTALS_MOST = 0.02
"""So small a share of seed is cocoa-butter crystals, not chocolate (common practice)."""
GRADES: tuple[Grade, ...] = ("sell", "seconds", "remelt")
FAULTS: tuple[Fault, ...] = get_args(Fault)
NOT_THE_BOWL: frozenset[Fault] = frozenset({"spots", "cracks"})
"""Faults of mould, water or refrigerator (common practice): alone they say nothing of temper."""

OF_UNDER: frozenset[Fault] = frozenset({"film", "streaks", "soft"})
"""Faults of too few crystals (common practice); dull and stuck bars come of too many as well."""

UNDER_ABOVE, OVER_BELOW = 1.13, 0.94
SHADE = 0.03
"""So near to an edge the place is borderline: what the ratio itself may be off by."""

EDGE_SPREAD = 0.06
"""How far the model's edge may be from the maker's own."""
TURN_WIDTH = 0.015
"""Width of the turn from bars that sell to bars that do not."""
MISLABELLED = 0.1
"""Share of bars graded for another reason; without it one odd bar would drag an edge away."""
LEAST_SOLD, LEAST_FAILED = 5, 3
_STEP, _REACH = 0.002, 0.2


@dataclass(frozen=True, slots=True)
class GradedBar:
    """Bars of one batch: the set ratio of its sample and how they were graded after 24 h.

    Leave out bars that the mould, the refrigerator or the store spoilt: they say nothing of the
    bowl. Bars that did not sell for faults of NOT_THE_BOWL alone are left out by themselves.
    """

    set_ratio: float
    grade: Grade
    method: str = "seeded"
    faults: frozenset[Fault] = frozenset()

    @property
    def tells_of_bowl(self) -> bool:
        """False for bars that failed for another reason than the bowl's."""
        return self.grade == "sell" or not self.faults or not self.faults <= NOT_THE_BOWL

    @property
    def points_under(self) -> bool:
        """True for bars with a fault that only too few crystals leave."""
        return bool(self.faults & OF_UNDER)


@dataclass(frozen=True, slots=True)
class Bands:
    """Above `under_above` under, below `over_below` over, between them in temper."""

    method: str = "seeded"
    under_above: float = UNDER_ABOVE
    over_below: float = OVER_BELOW
    sold: int = 0
    """Bars that sold, of this method."""
    under_calibrated: bool = False
    over_calibrated: bool = False
    own: tuple[GradedBar, ...] = ()
    """The bars that count, of this method."""

    def place(self, set_ratio: float) -> Place:
        """Return the band of a set ratio."""
        if set_ratio > self.under_above:
            return "under"
        return "over" if set_ratio < self.over_below else "in"

    def near_edge(self, set_ratio: float) -> Place | None:
        """Return the band on the other side of an edge within SHADE; None away from edges."""
        for edge, outside in ((self.under_above, "under"), (self.over_below, "over")):
            if abs(set_ratio - edge) <= SHADE:
                return "in" if self.place(set_ratio) == outside else _as_place(outside)
        return None

    def is_calibrated(self, place: Place) -> bool:
        """True when the maker's own bars stand behind every edge of what `place` says."""
        if place == "in":
            return self.under_calibrated and self.over_calibrated
        return self.under_calibrated if place == "under" else self.over_calibrated

    def failed_near(self, set_ratio: float) -> int:
        """Return how many own bars within SHADE did not sell, if at least LEAST_FAILED and most
        of those there; else 0. Where they are, nothing may be called in temper."""
        near = [bar for bar in self.own if abs(bar.set_ratio - set_ratio) <= SHADE]
        failed = sum(bar.grade != "sell" for bar in near)
        return failed if failed >= LEAST_FAILED and 2 * failed > len(near) else 0


def _as_place(word: str) -> Place:
    return "under" if word == "under" else "over"


def method_key(method: str, seed_g: int, mass_g: int) -> str:
    """Return which bands judge a batch: a seeded one with so little seed had crystals."""
    few = method == "seeded" and seed_g <= CRYSTALS_MOST * mass_g
    return "crystals" if few else method


def bands_of(bars: Sequence[GradedBar], method: str = "seeded") -> Bands:
    """Return the bands of a method, moved by its graded bars; those of other methods do not count.

    Each edge is where a logistic turn of width TURN_WIDTH explains the grades best, held by a
    normal belief of EDGE_SPREAD about the model's edge. Raises InputError for an unknown method
    and for a set ratio that is no number between 0 and 3.
    """
    if method not in METHODS:
        raise InputError(f'"{method}" is no method.', f"Choose {', '.join(METHODS)}.")
    own = [bar for bar in bars if bar.method == method and bar.tells_of_bowl]
    for bar in own:
        if not 0 < bar.set_ratio < 3:  # NaN fails this too
            raise InputError(f"{bar.set_ratio:g} is no set ratio.", "Give one between 0 and 3.")
    good = [bar for bar in own if bar.grade == "sell"]
    edges, known = [], []
    for first, side in ((UNDER_ABOVE, 1), (OVER_BELOW, -1)):
        failed = [bar for bar in own if bar.grade != "sell" and _side(bar, good) == side]
        edges.append(_edge([*good, *failed], first, side))
        known.append(len(good) >= LEAST_SOLD and len(failed) >= LEAST_FAILED)
    if edges[1] >= edges[0]:  # grades that leave no room in between say nothing
        return Bands(method, sold=len(good), own=tuple(own))
    return Bands(method, edges[0], edges[1], len(good), known[0], known[1], tuple(own))


def _side(bar: GradedBar, good: Sequence[GradedBar]) -> int:
    """Which edge a bar that failed lies beyond: 1 the upper, -1 the lower.

    Beyond all that sold its place says it, whatever the fault; among them the fault does, as far
    as it can be of one side only, else the nearer half.
    """
    sold = sorted(one.set_ratio for one in good)
    if sold and bar.set_ratio > sold[-1]:
        return 1
    if sold and bar.set_ratio < sold[0]:
        return -1
    if bar.points_under:
        return 1
    middle = sold[len(sold) // 2] if sold else (UNDER_ABOVE + OVER_BELOW) / 2
    return 1 if bar.set_ratio > middle else -1


def _edge(bars: Sequence[GradedBar], first: float, sign: int) -> float:
    """Where the grades turn: `sign` 1 for the upper edge, -1 for the lower."""
    count = round(_REACH / _STEP)
    tried = [first + step * _STEP for step in range(-count, count + 1)]
    costs = [_cost(bars, edge, first, sign) for edge in tried]
    return round(tried[costs.index(min(costs))], 3)


def _cost(bars: Sequence[GradedBar], edge: float, first: float, sign: int) -> float:
    cost = ((edge - first) / EDGE_SPREAD) ** 2 / 2
    for bar in bars:
        inside = sign * (edge - bar.set_ratio) / TURN_WIDTH
        sells = 1 / (1 + math.exp(-max(min(inside, 50.0), -50.0)))
        sells = MISLABELLED + (1 - 2 * MISLABELLED) * sells
        cost -= math.log(sells if bar.grade == "sell" else 1 - sells)
    return cost
