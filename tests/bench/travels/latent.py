"""Melting and crystals of many bowls, once a second.

Solid pieces melt towards `chocolate.heat.melted_share`; free crystals follow the equations of
`snapgloss.chocolate.crystals` for the stable form, which is the only one that forms above 22 degC.
Seed dies at the wall as in the bulk: a wall layer of `WALL_SHARE` of the chocolate is as hot as
the plate. A test holds both against the program's own functions of one number.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.crystals import DEFAULT_RATES, MELT_V_C, NUCLEATION_END_C, V_LEVELS
from snapgloss.chocolate.heat import MELT_END_C, MELT_FOOT_C, MELT_PEAK_C
from travels.population import Array, Rigs

MELT_S = 20.0
"""Pieces follow the bath with this lag (assumption, as in the simulated bowl)."""
SEED_MELT_S = 60.0
SEED_SOFT_C, SEED_LIQUID_C = 26.0, 32.0
"""Seed that is bound to melt does so with this time constant, slower when cold (assumption)."""
SEED_MELTS = 0.8
"""Share of added seed that melts."""
WALL_SHARE = 0.04
_LEVEL_C = np.array([at_c for at_c, _ in V_LEVELS])
_LEVEL = np.array([level for _, level in V_LEVELS])


class Latent:
    """`solid` share still in pieces, `thawing` share of cold seed that will melt, `v` and `n`
    crystals and their number as shares of the fat."""

    ARRAYS = ("n", "peak_n", "solid", "thawing", "v")

    def __init__(self, rigs: Rigs, solid: Array, at_c: Array) -> None:
        self.rigs = rigs
        self.solid = np.minimum(solid, 1.0 - melted_share(at_c))
        self.thawing = np.zeros(len(rigs))
        self.v = np.zeros(len(rigs))
        self.n = np.zeros(len(rigs))
        self.peak_n = np.zeros(len(rigs))

    def second(self, at_c: Array, wall_c: Array, mass_kg: Array) -> Array:
        """Let a second pass at `at_c`; return the heat set free, W."""
        gone = np.zeros(len(at_c))
        if self.solid.any():
            over = np.maximum(self.solid - (1.0 - melted_share(at_c)), 0.0)
            melted = np.where(self.solid < 1e-6, self.solid, over / (MELT_S + 1.0))
            self.solid = self.solid - melted
            gone += melted
        if self.thawing.any():
            warm = np.clip((at_c - SEED_SOFT_C) / (SEED_LIQUID_C - SEED_SOFT_C), 0.0, 1.0)
            thawed = self.thawing * warm / (SEED_MELT_S + 1.0)
            self.thawing = self.thawing - thawed
            gone += thawed
        return mass_kg * self.rigs.latent_j_per_kg * (self._crystals(at_c, wall_c) - gone)

    def _crystals(self, at_c: Array, wall_c: Array) -> Array:
        """Share of the fat that sets in this second (negative: melts)."""
        rates, dt_min = DEFAULT_RATES, 1.0 / 60.0
        room = np.interp(at_c, _LEVEL_C, _LEVEL) - self.v - self.solid - self.thawing
        open_room = np.maximum(room, 0.0)
        under = np.clip((MELT_V_C - at_c) * 0.1, 0.0, 2.0)
        grown = rates.grow_v * under * np.sqrt(under) * np.cbrt(self.n * self.v * self.v)
        cold = np.maximum(NUCLEATION_END_C - at_c, 0.0) * 0.1
        born = rates.nucleate_v * cold * cold * open_room * dt_min * self.rigs.growth
        gained = grown * open_room * dt_min * self.rigs.growth + born
        below = (at_c < MELT_V_C) & (room < 0.0)
        gained += np.where(below, 0.2 * rates.melt_v * np.maximum(room, -self.v) * dt_min, 0.0)
        hot = (1.0 - WALL_SHARE) * np.maximum(at_c - MELT_V_C, 0.0)
        hot += WALL_SHARE * np.maximum(wall_c - MELT_V_C, 0.0)
        lost = 1.0 - 1.0 / (1.0 + dt_min * rates.melt_v * hot)
        gained -= lost * self.v
        self.v = self.v + gained
        self.n = (self.n + born) * (1.0 - lost)
        self.peak_n = np.maximum(self.peak_n, self.n)
        return gained

    def add_seed(self, share: Array) -> None:
        """Thin all by the seed's share of the new mass and put the seed in."""
        for name in self.ARRAYS:
            setattr(self, name, getattr(self, name) * (1.0 - share))
        self.thawing = self.thawing + SEED_MELTS * share
        self.v = self.v + (1.0 - SEED_MELTS) * share
        self.n = self.n + (1.0 - SEED_MELTS) * share
        self.peak_n = np.maximum(self.peak_n, self.n)

    def bound_j_per_kg(self) -> Array:
        """Latent heat that set fat has given off, J per kg of chocolate."""
        return (self.solid + self.thawing + self.v) * self.rigs.latent_j_per_kg

    def copied(self, which: NDArray[np.int64] | NDArray[np.bool_], rigs: Rigs) -> Latent:
        """Return these lanes."""
        other = Latent.__new__(Latent)
        other.rigs = rigs
        for name in self.ARRAYS:
            setattr(other, name, getattr(self, name)[which].copy())
        return other

    @staticmethod
    def joined(parts: list[Latent], rigs: Rigs) -> Latent:
        """Return the lanes of several as one."""
        whole = Latent.__new__(Latent)
        whole.rigs = rigs
        for name in Latent.ARRAYS:
            setattr(whole, name, np.concatenate([getattr(part, name) for part in parts]))
        return whole


def melted_share(at_c: Array) -> Array:
    """As `snapgloss.chocolate.heat.melted_share`, for arrays."""
    width = MELT_END_C - MELT_FOOT_C
    low = np.clip(at_c, MELT_FOOT_C, MELT_PEAK_C) - MELT_FOOT_C
    high = MELT_END_C - np.clip(at_c, MELT_PEAK_C, MELT_END_C)
    up = low * low / (width * (MELT_PEAK_C - MELT_FOOT_C))
    down = 1.0 - high * high / (width * (MELT_END_C - MELT_PEAK_C))
    return np.where(at_c < MELT_PEAK_C, up, down)
