"""Seeded growth of cocoa-butter crystals: three numbers that follow temperature and stirring.

`v` stable crystals (form V) and `u` unstable ones (form IV and lower), both as shares of the fat;
`n` the number of seeds, in the same unit: equal to `v` when the seed goes in, raised by nucleation
and **not** by growth. Growth goes as n^(1/3) v^(2/3): a fixed number of particles, growing at
their surface. With plain autocatalysis a flat set curve appears only near 8-10 % of seed, far from
the 1-4 % that practice holds.

The equations are our own; shapes follow published findings (stable crystals are not born in the
quiet melt: Marangoni & McGauley 2003; shear favours them: Mazzanti et al. 2007; more seed sets
earlier and warmer: Kinta & Hartel 2010). None of the rates is a literature value: whatever comes
out is an **estimate**, and nothing about heater safety may rest on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cbrt, sqrt

MELTING_C = {"I": 17.3, "II": 23.3, "III": 25.5, "IV": 27.5, "V": 33.8, "VI": 36.3}
"""Melting points of the six forms of cocoa butter in degC: Wille & Lutton, J. Am. Oil Chem. Soc.
43 (1966) 491, read second-hand (IV is also quoted as 27.3). Batches differ by +-1.5 K."""

MELT_V_C = MELTING_C["V"]
MELT_U_C = MELTING_C["IV"]
NUCLEATION_END_C = 30.0

LATENT_V_J_PER_KG = 137e3
"""Per kg of fat (Beckett's handbook, second-hand; +-10 %)."""
LATENT_U_J_PER_KG = 118e3
"""Per kg of fat, form IV (from memory, +-10 %)."""

V_LEVELS = (
    (0.0, 0.88),
    (10.0, 0.85),
    (15.0, 0.82),
    (20.0, 0.76),
    (25.0, 0.70),
    (27.5, 0.60),
    (30.0, 0.45),
    (32.0, 0.20),
    (MELT_V_C, 0.0),
)
"""(degC, share of the fat set in the stable form): typical solid-fat figures of tempered cocoa
butter (from memory, +-5 points)."""

U_LEVELS = ((0.0, 0.80), (10.0, 0.75), (15.0, 0.65), (20.0, 0.50), (25.0, 0.20), (MELT_U_C, 0.0))
"""The same for the unstable forms: an assumption."""

FORGET = 1e-9
"""Below this share of the fat crystals count as gone: the melt has lost its memory."""


def _levels(points: tuple[tuple[float, float], ...]) -> list[float]:
    """The piecewise line at every 0.1 K from 0 degC; every corner lies on that grid."""
    table: list[float] = []
    for (low_c, low), (high_c, high) in pairwise(points):
        count = round((high_c - low_c) * 10)
        table += [low + (high - low) * i / count for i in range(count)]
    return [*table, 0.0, 0.0]


_V_TABLE = _levels(V_LEVELS)
_U_TABLE = _levels(U_LEVELS)


def _level(table: list[float], at_c: float) -> float:
    tenths = at_c * 10.0
    if tenths <= 0.0:
        return table[0]
    i = int(tenths)
    if i >= len(table) - 2:
        return 0.0
    low = table[i]
    return low + (table[i + 1] - low) * (tenths - i)


def stable_level(at_c: float) -> float:
    """Share of the fat (0..0.88) that can be set in the stable form at `at_c`."""
    return _level(_V_TABLE, at_c)


def unstable_level(at_c: float) -> float:
    """Share of the fat (0..0.80) that can be set in unstable forms at `at_c`."""
    return _level(_U_TABLE, at_c)


@dataclass(frozen=True, slots=True)
class CrystalRates:
    """Rates of the model, per minute. What is known of each stands beside it."""

    grow_v: float = 0.9
    """Growth of stable crystals. Must be fitted (cooling curves of samples)."""
    nucleate_v: float = 0.03
    """Stable crystals made by stirring. Must be fitted (batches without seed). The default is
    chosen so that common practice (no source) holds: a dark template (cooled to 28.0 degC in a
    quarter of an hour, held there 5-10 min stirred, warmed to 31.5 in 4 min)
    reaches 1-3 % of the fat."""
    grow_u: float = 0.45
    """Growth of unstable crystals. Weakly known; matters only below about 22 degC."""
    nucleate_u: float = 1.5e-3
    """Birth of unstable crystals. Weakly known; as above."""
    convert: float = 0.03
    """Unstable to stable at full stirring. Weakly known: a tenth of it, at rest, has the order
    of "beta' lives 10 h at 24 degC" (Marangoni & McGauley 2003)."""
    melt_v: float = 0.5
    """Melting of stable crystals, per minute and kelvin over their point. Weakly known."""
    melt_u: float = 0.5
    """Melting of unstable crystals, per minute and kelvin over their point. Weakly known."""


DEFAULT_RATES = CrystalRates()


class Crystals:
    """Crystals of one well-mixed body of chocolate.

    `v`, `u` shares of the fat 0..1 with v + u <= 1; `n` seed number >= 0; `depression_k` the
    melting-point depression by milk fat (`heat.melting_depression`).
    """

    __slots__ = ("depression_k", "n", "rates", "u", "v")

    def __init__(
        self,
        v: float = 0.0,
        u: float = 0.0,
        n: float | None = None,
        depression_k: float = 0.0,
        rates: CrystalRates = DEFAULT_RATES,
    ) -> None:
        self.v = v
        self.u = u
        self.n = v if n is None else n
        self.depression_k = depression_k
        self.rates = rates

    def step(self, dt_s: float, at_c: float, shear: float, set_share: float = 0.0) -> float:
        """Advance by `dt_s` (0..2 s) at `at_c` and return the heat set free, J per kg of fat.

        `shear` is the shear rate over 20 1/s (0 = at rest, about 1 = stirred well);
        `set_share` (0..1) fat bound in pieces that never melted, which leaves less to grow.
        Above the melting point and with nothing to melt it returns at once.
        """
        te = at_c + self.depression_k
        if te >= NUCLEATION_END_C and self.v < FORGET and self.u < FORGET:
            self.v = self.u = self.n = 0.0
            return 0.0
        dt_min = dt_s / 60.0
        if te >= MELT_V_C:
            return self._melt(dt_min, te)
        return self._grow(dt_min, te, shear, set_share)

    def bound_j_per_kg(self) -> float:
        """Latent heat that these crystals have given off, J per kg of fat."""
        return LATENT_V_J_PER_KG * self.v + LATENT_U_J_PER_KG * self.u

    def _melt(self, dt_min: float, te: float) -> float:
        rates = self.rates
        keep_v = 1.0 / (1.0 + dt_min * rates.melt_v * (te - MELT_V_C))
        keep_u = 1.0 / (1.0 + dt_min * rates.melt_u * (te - MELT_U_C))
        gone_v = self.v * (1.0 - keep_v)
        gone_u = self.u * (1.0 - keep_u)
        self.v -= gone_v
        self.u -= gone_u
        self.n *= keep_v
        return -(LATENT_V_J_PER_KG * gone_v + LATENT_U_J_PER_KG * gone_u)

    def _grow(self, dt_min: float, te: float, shear: float, set_share: float) -> float:
        rates = self.rates
        v = self.v
        u = self.u
        level = _level(_V_TABLE, te)
        room = level - v - u - set_share
        born = grown = 0.0
        if room > 0.0:
            if v > 0.0:
                under = min((MELT_V_C - te) * 0.1, 2.0)
                grown = rates.grow_v * under * sqrt(under) * cbrt(self.n * v * v) * room * dt_min
            if te < NUCLEATION_END_C and shear > 0.0:
                under = (NUCLEATION_END_C - te) * 0.1
                born = rates.nucleate_v * shear * under * under * room * dt_min
            if grown + born > room:
                grown = room - born if born < room else 0.0
                born = room - grown
        elif v > level:
            grown = -0.2 * rates.melt_v * (v - level) * dt_min
        turned, gained_u = self._unstable(dt_min, te, shear, v + set_share + grown + born)
        gained_v = grown + born + turned
        self.v = v + gained_v
        self.n += born + turned
        return LATENT_V_J_PER_KG * gained_v + LATENT_U_J_PER_KG * gained_u

    def _unstable(
        self, dt_min: float, te: float, shear: float, taken: float
    ) -> tuple[float, float]:
        """Step `u`; return (what turned stable, gain of `u`). `taken`: fat set otherwise."""
        rates = self.rates
        u = self.u
        if te >= MELT_U_C:
            if u == 0.0:
                return 0.0, 0.0
            self.u = u / (1.0 + dt_min * rates.melt_u * (te - MELT_U_C))
            return 0.0, self.u - u
        grown = 0.0
        room = _level(_U_TABLE, te) - taken - u
        if room > 0.0:
            under = min((MELT_U_C - te) * 0.1, 2.0)
            births = rates.nucleate_u * under * under * (1.0 + shear)
            grown = min(room, (births + rates.grow_u * under * u) * room * dt_min)
        turning = rates.convert * (0.1 + shear) * dt_min
        if te < 15.0:
            turning *= 0.1
        self.u = (u + grown) / (1.0 + turning)
        return self.u * turning, self.u - u


def swap(one: Crystals, one_kg: float, other: Crystals, other_kg: float, kg: float) -> None:
    """Swap `kg` between two stirred bodies: crystals travel, their sum stays."""
    if one.n == 0.0 == other.n and one.u == 0.0 == other.u:
        return
    from_one = kg / one_kg
    from_other = kg / other_kg
    damp = 1.0 / (1.0 + from_one + from_other)
    from_one *= damp
    from_other *= damp
    gap = one.v - other.v
    one.v -= from_one * gap
    other.v += from_other * gap
    gap = one.u - other.u
    one.u -= from_one * gap
    other.u += from_other * gap
    gap = one.n - other.n
    one.n -= from_one * gap
    other.n += from_other * gap
