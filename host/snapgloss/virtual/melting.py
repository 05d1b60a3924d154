"""Set pieces in the bowl: how far they have melted, and how they fall apart into seed."""

from __future__ import annotations

from snapgloss.chocolate.heat import melted_share

MELT_S = 20.0
"""Pieces follow the bath around them with this lag (assumption)."""
PART_S = 60.0
"""Softened pieces fall apart into crystals with this time constant, stirred (assumption)."""
SOFT_C = 28.0
"""Chocolate starts to soften at 28-30 degC to the eye."""
LAST_SHARE = 1e-6
"""A remainder this small is no piece any more."""


class Pieces:
    """Chocolate that has been set all along, as blocks or as added seed.

    `share` of all fat in the bowl that is still set in pieces, 0..1; `origin` the share that the
    pieces had before any of them melted. At `at_c` no more than `origin * (1 - melted)` stays
    set; cooling again brings nothing back: that is the crystals' affair. `lag_factor` above 1
    says that they are big blocks, which melt so many times more slowly and jam a stirrer.
    """

    __slots__ = ("lag_factor", "origin", "share")

    def __init__(self, origin: float, at_c: float) -> None:
        self.lag_factor = 1.0
        self.origin = origin
        self.share = origin * (1.0 - melted_share(at_c))

    def block_share(self) -> float:
        """Share of all fat that is set in big blocks, 0..1."""
        return self.share if self.lag_factor > 1.0 else 0.0

    def add(self, kept: float, origin: float, at_c: float) -> float:
        """Thin all by `kept` (0..1), add pieces worth `origin`; return what of them is set."""
        added = origin * (1.0 - melted_share(at_c))
        self.origin = self.origin * kept + origin
        self.share = self.share * kept + added
        return added

    def melt(self, dt_s: float, at_c: float) -> float:
        """Let pieces melt for `dt_s` in a bath at `at_c`; return the share that melted."""
        over = self.share - self.origin * (1.0 - melted_share(at_c))
        if over <= 0.0:
            return 0.0
        gone = over * dt_s / (MELT_S * self.lag_factor + dt_s)
        self.share -= gone
        return gone

    def part(self, dt_s: float, at_c: float, shear: float) -> float:
        """Let stirred, softened pieces fall apart; return the share that is free crystals now."""
        share = self.share
        if 0.0 < share < LAST_SHARE:
            self.share = self.origin = 0.0
            return share
        if shear <= 0.0 or at_c < SOFT_C or share == 0.0:
            return 0.0
        parted = share * shear * dt_s / (PART_S + dt_s)
        self.origin *= 1.0 - parted / share
        self.share = share - parted
        return parted
