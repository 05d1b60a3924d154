"""Chocolate used again: how hot and how long, how much of it, and what it brings along.

Allergens are never lost: what was in any lot is in the mixture, and "may contain" stays until a
cleaning was verified. Flushing with chocolate is no verified cleaning. Figures of time and share
are common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import ChocolateType, type_of

FRESH_S, OLD_S, BLOOMED_S = 600, 900, 1200
"""Rest at the melt: 10-20 min, the longer the older."""
OLD_DAYS = 90
SHARE_USUAL = 0.3
"""Of the bowl that was tempered before; more is warned of (own choice): each melt brings in a
little damp and air. A batch that failed may be melted again as a whole."""
TIMES_MOST = 3
RANK = {"dark": 0, "milk": 1, "white": 2}
"""Milk in dark is a change of product; the mixture is judged as the most delicate in it."""


@dataclass(frozen=True, slots=True)
class Lot:
    """Chocolate that goes into the bowl. `times` it was tempered before, 0 = new."""

    name: str
    kind: str
    mass_g: float
    times: int = 0
    days: float = 0.0
    bloomed: bool = False
    inclusions: bool = False
    allergens: frozenset[str] = frozenset()
    may_contain: frozenset[str] = frozenset()

    @property
    def all_allergens(self) -> frozenset[str]:
        """Return the allergens it has, milk counted in for milk and white."""
        own = frozenset(a.strip().lower() for a in self.allergens)
        return own if self.kind == "dark" else own | {"milk"}


@dataclass(frozen=True, slots=True)
class Remelt:
    """What to do with the lots together, milli-degC and seconds; sentences in `warnings`."""

    kind: str
    mass_g: float
    used_share: float
    melt_mc: int
    rest_s: int
    allergens: tuple[str, ...]
    may_contain: tuple[str, ...]
    warnings: list[str] = field(default_factory=list)


def plan_remelt(
    lots: Sequence[Lot],
    bowl_may_contain: frozenset[str] = frozenset(),
    cleaning_verified: bool = False,
) -> Remelt:
    """Return how the lots are melted together.

    `bowl_may_contain` is what the bowl and tools held before, which a verified cleaning removes;
    what a lot itself may contain stays with it. Raises InputError for inclusions, for no lot
    and for a lot without mass.
    """
    _check(lots)
    mass_g = sum(lot.mass_g for lot in lots)
    used_share = sum(lot.mass_g for lot in lots if lot.times) / mass_g
    kind = max((lot.kind for lot in lots), key=lambda key: RANK[key])
    allergens = frozenset().union(*(lot.all_allergens for lot in lots))
    traces = frozenset().union(*(lot.may_contain for lot in lots))
    if not cleaning_verified:
        traces |= bowl_may_contain
    traces = frozenset(a.strip().lower() for a in traces) - allergens
    return Remelt(
        kind, mass_g, used_share, melt_mc(lots, type_of(kind)), rest_s(lots),
        tuple(sorted(allergens)), tuple(sorted(traces)),
        _warnings(lots, used_share, traces, cleaning_verified),
    )  # fmt: skip


def rest_s(lots: Sequence[Lot]) -> int:
    """Return seconds to rest once all is melted: 10 min fresh, 15 old, 20 bloomed."""
    if any(lot.bloomed for lot in lots):
        return BLOOMED_S
    return OLD_S if any(lot.days >= OLD_DAYS for lot in lots) else FRESH_S


def melt_mc(lots: Sequence[Lot], kind: ChocolateType) -> int:
    """Return the melting target: the type's usual one, 2 degC more for bloom, under its limit."""
    more_mc = 2000 if any(lot.bloomed for lot in lots) else 0
    return min(kind.melt.default_mc + more_mc, kind.melt.high_mc, kind.hard_mc)


def _warnings(
    lots: Sequence[Lot], used_share: float, traces: frozenset[str], cleaning_verified: bool
) -> list[str]:
    found = []
    kinds = {lot.kind for lot in lots}
    if "dark" in kinds and len(kinds) > 1:
        found.append(
            "Milk goes into dark: the mixture is no dark chocolate any more, contains milk, and "
            "must say so."
        )
    if used_share > SHARE_USUAL:
        found.append(
            f"{used_share * 100:.0f} % was tempered before; up to {SHARE_USUAL * 100:.0f} % is "
            "usual. Look at snap and gloss of the first bars."
        )
    if any(lot.times >= TIMES_MOST for lot in lots):
        found.append("Some of it is melted for at least the fourth time: use it for filling.")
    if any(lot.bloomed for lot in lots):
        found.append("Bloomed bars are good to eat; if they smell or taste stale, leave them out.")
    if traces:
        found.append(f"Keep on the label: may contain {', '.join(sorted(traces))}.")
    if cleaning_verified and traces:
        found.append("The cleaning took away what the bowl held, not what came with a lot.")
    return found


def _check(lots: Sequence[Lot]) -> None:
    if not lots:
        raise InputError("Nothing is melted.", "Name at least one lot.")
    for lot in lots:
        type_of(lot.kind)
        if not 0 < lot.mass_g <= 100_000:  # NaN fails this too
            raise InputError(f"{lot.name} has {lot.mass_g:g} g.", "Give more than 0 g.")
        if not (lot.days >= 0 and lot.times >= 0):
            raise InputError(f"{lot.name} has an age below 0.", "Give days and times from 0 on.")
        if lot.inclusions:
            raise InputError(
                f"{lot.name} has inclusions: nuts, nibs or salt do not melt and jam the stirrer.",
                "Use it for filling or bark, not for the bowl.",
            )
