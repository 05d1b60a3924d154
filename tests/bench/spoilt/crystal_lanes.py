"""`snapgloss.chocolate.crystals` for many bodies at once: the same equations on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.crystals import (
    DEFAULT_RATES,
    LATENT_U_J_PER_KG,
    LATENT_V_J_PER_KG,
    MELT_U_C,
    MELT_V_C,
    NUCLEATION_END_C,
    U_LEVELS,
    V_LEVELS,
)

Array = NDArray[np.float64]
_V_AT, _V = (np.array(one) for one in zip(*V_LEVELS, strict=True))
_U_AT, _U = (np.array(one) for one in zip(*U_LEVELS, strict=True))


def stable_level(at_c: Array) -> Array:
    """What can be set in the stable form, share of the fat."""
    return np.interp(at_c, _V_AT, _V)


class CrystalLanes:
    """`v`, `u`, `n` as in `crystals.Crystals`, arrays of one shape; `grow`, `nucleate` multiply
    the rates of each body."""

    def __init__(self, v: Array, u: Array, n: Array, depression_k: Array,
                 grow: Array, nucleate: Array) -> None:  # fmt: skip
        self.v, self.u, self.n = v.copy(), u.copy(), n.copy()
        self.depression_k = depression_k
        self.grow_v = DEFAULT_RATES.grow_v * grow
        self.nucleate_v = DEFAULT_RATES.nucleate_v * nucleate

    def step(self, dt_s: float, at_c: Array, shear: Array | float) -> Array:
        """Advance and return the heat set free, J per kg of fat."""
        te, dt_min = at_c + self.depression_k, dt_s / 60.0
        hot = te >= MELT_V_C
        keep_v = np.where(hot, 1 / (1 + dt_min * DEFAULT_RATES.melt_v * (te - MELT_V_C)), 1.0)
        grown, born = self._stable(dt_min, te, shear)
        grown, born = np.where(hot, 0.0, grown), np.where(hot, 0.0, born)
        turned, gained_u = self._unstable(dt_min, te, shear, self.v + grown + born)
        turned = np.where(hot, 0.0, turned)
        gained_v = grown + born + turned - self.v * (1 - keep_v)
        self.v = self.v + gained_v
        self.n = self.n * keep_v + born + turned
        return LATENT_V_J_PER_KG * gained_v + LATENT_U_J_PER_KG * gained_u

    def _stable(self, dt_min: float, te: Array, shear: Array | float) -> tuple[Array, Array]:
        level = stable_level(te)
        room = level - self.v - self.u
        free = np.maximum(room, 0.0)
        under = np.clip((MELT_V_C - te) * 0.1, 0.0, 2.0)
        speed = np.cbrt(self.n * self.v * self.v)
        grown = self.grow_v * under * np.sqrt(under) * speed * free * dt_min
        cold = np.maximum((NUCLEATION_END_C - te) * 0.1, 0.0)
        born = self.nucleate_v * shear * cold * cold * free * dt_min
        born = np.minimum(born, free)
        grown = np.minimum(grown, free - born)
        melts = -0.2 * DEFAULT_RATES.melt_v * np.maximum(self.v - level, 0.0) * dt_min
        return np.where(room > 0, grown, melts), born

    def _unstable(
        self, dt_min: float, te: Array, shear: Array | float, taken: Array
    ) -> tuple[Array, Array]:
        warm = te >= MELT_U_C
        melted = self.u / (1 + dt_min * DEFAULT_RATES.melt_u * np.maximum(te - MELT_U_C, 0.0))
        room = np.maximum(np.interp(te, _U_AT, _U) - taken - self.u, 0.0)
        under = np.clip((MELT_U_C - te) * 0.1, 0.0, 2.0)
        births = DEFAULT_RATES.nucleate_u * under * under * (1 + shear)
        fed = DEFAULT_RATES.grow_u * under * self.u
        grown = np.minimum(room, (births + fed) * room * dt_min)
        turning = DEFAULT_RATES.convert * (0.1 + shear) * dt_min * np.where(te < 15.0, 0.1, 1.0)
        cold_u = (self.u + grown) / (1 + turning)
        before, self.u = self.u, np.where(warm, melted, cold_u)
        return np.where(warm, 0.0, cold_u * turning), self.u - before


def swap(
    one: CrystalLanes, one_kg: float, other: CrystalLanes, other_kg: float, kg: Array
) -> None:
    """Stirring between two bodies, as `crystals.swap`."""
    damp = 1.0 / (1.0 + kg / one_kg + kg / other_kg)
    for name in ("v", "u", "n"):
        mine, theirs = getattr(one, name), getattr(other, name)
        gap = mine - theirs
        setattr(one, name, mine - kg / one_kg * damp * gap)
        setattr(other, name, theirs + kg / other_kg * damp * gap)
