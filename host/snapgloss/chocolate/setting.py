"""How long a bar takes to set in its mould: one-dimensional with crystals, and lumped.

The bar is a layer of chocolate on a layer of mould, air on both sides. The crystals of
`chocolate.crystals` grow in each cell and give off their heat; their rates are not fitted, so the
minutes are an **estimate**. "Released" is kept apart from "set": a bar shrinks away from its mould
when most of its fat has set, minutes before the last of the heat is out.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.chocolate import heat, slab
from snapgloss.chocolate.crystals import Crystals, stable_level
from snapgloss.chocolate.moist_air import SET_MOST_C

Floats = NDArray[np.float64]

CHOCOLATE_W_PER_M_K = 0.25
"""Between 0.22 (15 degC) and 0.28 (27 degC): Clegg 2001, in Beckett 2009 p. 667."""
CHOCOLATE_KG_PER_M3 = 1250.0
"""Between liquid 1200 and solid 1300, rounded figures of Beckett 1999, second-hand."""
MOULD_W_PER_M_K, MOULD_J_PER_KG_K = 0.20, 1200.0
"""Polycarbonate: 0.19-0.22 W/m K, 1.2-1.3 kJ/kg K (property tables of the plastic)."""
SEED_SHARE = 0.02
"""Of the fat, set when the bar is poured: 1-4 % is in temper (from memory)."""
RELEASED_SHARE, SET_SHARE = 0.70, 0.90
"""Of what sets at the air's temperature: mean of the bar, and its slowest layer (own choice,
so that usual bars release after the 20 minutes of common practice)."""
PRACTICE_MIN = 20.0
"""Common practice, no source: twenty minutes in cold air; look underneath at fifteen."""
LONGEST_MIN = 6 * 60.0
SAMPLE_S = 15.0
CELL_M, CELLS = 1e-3, (4, 12)
WALL_CELLS = 2


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar in its cavity. Areas in m2: open to the air, and touching the mould.

    `mould_g` is the share of the mould that this bar cools with; `wall_m` its thickness. 0 g = no
    mould: both faces bare. `fat_share` 0.15..0.65 of the chocolate, `depression_k` of its melting
    point (`heat.melting_depression`). `own_specific_heat` (J/kg K) and `own_latent_heat` (J/kg)
    stand in for what its fat gives.
    """

    mass_g: float
    top_m2: float
    mould_m2: float
    mould_g: float
    wall_m: float = 3e-3
    fat_share: float = 0.36
    depression_k: float = 0.0
    kg_per_m3: float = CHOCOLATE_KG_PER_M3
    own_specific_heat: float | None = None
    own_latent_heat: float | None = None

    @property
    def specific_heat(self) -> float:
        """J/kg K without setting."""
        return self.own_specific_heat or heat.specific_heat(self.fat_share)

    @property
    def latent_heat(self) -> float:
        """J/kg of chocolate that has set altogether."""
        return self.own_latent_heat or heat.latent_heat(self.fat_share)

    @property
    def face_m2(self) -> float:
        """Mean of both faces: the one dimension has one cross-section."""
        return (self.top_m2 + self.mould_m2) / 2

    @property
    def thickness_m(self) -> float:
        """Of the layer with the bar's volume on that face."""
        return self.mass_g / 1000 / self.kg_per_m3 / self.face_m2


@dataclass(frozen=True, slots=True)
class Cooling:
    """Air around the bar, film coefficients (W/m2K) on mould and open face, start temperatures."""

    air_c: float
    film_w_per_m2_k: float
    chocolate_c: float = 31.5
    mould_c: float = 24.0


@dataclass(frozen=True, slots=True)
class Setting:
    """What became of a bar, a sample each 15 s from 0: arrays of equal length.

    `minutes`; `mean_c` and `face_c` (at the mould) of the chocolate; `set_share` mean and
    `slowest_share` of its layers, 0..1 of what sets at the air's temperature; `given_j` heat the
    bar and its mould have given off. `released_min` and `set_min` are None when not reached.
    """

    minutes: Floats
    mean_c: Floats
    face_c: Floats
    set_share: Floats
    slowest_share: Floats
    given_j: Floats
    released_min: float | None
    set_min: float | None


class _Growing:
    """Crystals in the cells of the chocolate; the mould's cells before them set nothing free."""

    def __init__(self, bar: Bar, cells: int, before: int, air_c: float) -> None:
        self._crystals = [
            Crystals(SEED_SHARE, depression_k=bar.depression_k) for _ in range(cells)
        ]
        # The crystals count their heat per kg of fat; an own heat of melting stretches it.
        fat_share = bar.fat_share * bar.latent_heat / heat.latent_heat(bar.fat_share)
        self._fat_kg_per_m2 = fat_share * bar.mass_g / 1000 / bar.face_m2 / cells
        self._level = stable_level(air_c + bar.depression_k)
        self._before, self.released_j_per_m2 = before, 0.0

    def step(self, dt_s: float, at_c: Floats) -> Floats:
        """See slab.Release."""
        given = np.zeros(len(at_c))
        for cell, crystals in enumerate(self._crystals, self._before):
            given[cell] = crystals.step(dt_s, float(at_c[cell]), 0.0) * self._fat_kg_per_m2
        self.released_j_per_m2 += float(given.sum())
        return given

    def shares(self) -> Floats:
        """Set share of each cell, of what sets at the air's temperature."""
        return np.array([min(1.0, (c.v + c.u) / self._level) for c in self._crystals])


def bar_of(
    mass_g: float, thickness_m: float, mould_g: float, wall_m: float = 3e-3,
    fat_share: float = 0.36, depression_k: float = 0.0, kg_per_m3: float = CHOCOLATE_KG_PER_M3,
) -> Bar:  # fmt: skip
    """Return a flat bar by its mean thickness: both faces have the area of its volume over it."""
    _positive("A bar", mass_g, "g", 1000.0)
    _positive("A bar's thickness", thickness_m * 1000, "mm", 60.0)
    face_m2 = mass_g / 1000 / kg_per_m3 / thickness_m
    return Bar(mass_g, face_m2, face_m2, mould_g, wall_m, fat_share, depression_k, kg_per_m3)


def settle(bar: Bar, cooling: Cooling, longest_min: float = LONGEST_MIN) -> Setting:
    """Follow a bar until its slowest layer is set, at most `longest_min`. Raises InputError for
    what cannot be: no mass, air that does not cool, a mould hotter than the chocolate.
    """
    check(bar, cooling)
    layers, before, cells = _layers(bar)
    stack = slab.stack_of(layers, cooling.film_w_per_m2_k, cooling.film_w_per_m2_k)
    start_c = np.full(before + cells, cooling.mould_c)
    start_c[before:] = cooling.chocolate_c
    growing = _Growing(bar, cells, before, cooling.air_c)
    return _follow(bar, stack, start_c, cooling.air_c, growing, before, longest_min)


def _follow(
    bar: Bar, stack: slab.Stack, start_c: Floats, air_c: float, growing: _Growing,
    before: int, longest_min: float,
) -> Setting:  # fmt: skip
    rows, released_min, set_min, elapsed_s, next_s = [], None, None, 0.0, 0.0
    shrinks = air_c + bar.depression_k <= SET_MOST_C
    for at_c in _from_start(stack, start_c, air_c, growing):
        shares = growing.shares()
        if shrinks and released_min is None and shares.mean() >= RELEASED_SHARE:
            released_min = elapsed_s / 60
        if shares.min() >= SET_SHARE:
            set_min = elapsed_s / 60
        if elapsed_s >= next_s or set_min is not None:
            stored = float(stack.j_per_m2_k @ (start_c - at_c))
            given_j = (stored + growing.released_j_per_m2) * bar.face_m2
            chocolate_c = at_c[before:]
            rows.append((elapsed_s / 60, chocolate_c.mean(), chocolate_c[0],
                         shares.mean(), shares.min(), given_j))  # fmt: skip
            next_s += SAMPLE_S
        if set_min is not None or elapsed_s >= longest_min * 60:
            break
        elapsed_s += stack.step_s
    minutes, mean_c, face_c, share, slowest, given_j = np.array(rows).T
    return Setting(minutes, mean_c, face_c, share, slowest, given_j, released_min, set_min)


def _from_start(
    stack: slab.Stack, start_c: Floats, air_c: float, growing: _Growing
) -> Iterator[Floats]:
    yield start_c
    yield from slab.march(stack, start_c, air_c, growing)


def lumped_minutes(bar: Bar, cooling: Cooling, to_c: float, set_share: float = 0.85) -> float:
    """Minutes until bar and mould, as one mass, have come down to `to_c` and `set_share` of the
    latent heat is out, spread evenly over the way down; infinite if the air is not cooler.

    Heat over UA times the logarithmic mean of the difference to the air; the mould's wall is in
    series with its film. Coarse: no layer is warmer than another.
    """
    check(bar, cooling)
    if to_c <= cooling.air_c or to_c >= cooling.chocolate_c:
        return np.inf if to_c <= cooling.air_c else 0.0
    first_k, last_k = cooling.chocolate_c - cooling.air_c, to_c - cooling.air_c
    mean_k = (first_k - last_k) / np.log(first_k / last_k)
    given_j = heat_given_j(bar, cooling, to_c, set_share)
    return float(given_j / (conductance_w_per_k(bar, cooling) * mean_k) / 60)


def heat_given_j(bar: Bar, cooling: Cooling, to_c: float, set_share: float = 0.85) -> float:
    """Heat in J that a bar and its mould give off on the way to `to_c`, `set_share` set."""
    per_kg = bar.specific_heat * (cooling.chocolate_c - to_c)
    per_kg += set_share * bar.latent_heat
    mould_j = bar.mould_g / 1000 * MOULD_J_PER_KG_K * (cooling.mould_c - to_c)
    return bar.mass_g / 1000 * per_kg + mould_j


def conductance_w_per_k(bar: Bar, cooling: Cooling) -> float:
    """W/K from a bar as one mass to the air: its open face, and the mould's with its wall."""
    film = cooling.film_w_per_m2_k
    wall = bar.wall_m / MOULD_W_PER_M_K if bar.mould_g > 0 else 0.0
    return bar.top_m2 * film + bar.mould_m2 / (1 / film + wall)


def contact_c(chocolate_c: float, mould_c: float) -> float:
    """Temperature in degC of the chocolate's skin the moment it touches the mould.

    Two half-spaces, weighed by sqrt(k rho c) (any textbook of heat conduction).
    """
    own = np.sqrt(CHOCOLATE_W_PER_M_K * CHOCOLATE_KG_PER_M3 * heat.specific_heat(0.36))
    mould = np.sqrt(MOULD_W_PER_M_K * 1200.0 * MOULD_J_PER_KG_K)
    return float((own * chocolate_c + mould * mould_c) / (own + mould))


def _layers(bar: Bar) -> tuple[list[slab.Layer], int, int]:
    """Return the layers, the number of cells of the mould and those of the chocolate."""
    cells = int(np.clip(round(bar.thickness_m / CELL_M), *CELLS))
    per_m2 = bar.mass_g / 1000 * bar.specific_heat / bar.face_m2
    chocolate = slab.Layer(cells, bar.thickness_m, CHOCOLATE_W_PER_M_K, per_m2)
    if bar.mould_g == 0:
        return [chocolate], 0, cells
    mould_j = bar.mould_g / 1000 * MOULD_J_PER_KG_K / bar.face_m2
    wall = slab.Layer(WALL_CELLS, bar.wall_m, MOULD_W_PER_M_K, mould_j)
    return [wall, chocolate], WALL_CELLS, cells


def check(bar: Bar, cooling: Cooling) -> None:
    """Raise InputError for a bar or a cooling that cannot be."""
    _positive("A bar", bar.mass_g, "g", 1000.0)
    _positive("A bar's face", bar.face_m2 * 1e4, "cm2", 2000.0)
    if not 0.15 <= bar.fat_share <= 0.65:
        raise InputError(
            f"A fat of {bar.fat_share * 100:g} % is no chocolate.", "Give 15 % to 65 %."
        )
    if bar.mould_g != 0:
        _positive("A mould's wall", bar.wall_m * 1000, "mm", 20.0, 0.5)
        _positive("The mould for one bar", bar.mould_g, "g", 5000.0, 0.1 * bar.mass_g)
    _positive("A film", cooling.film_w_per_m2_k, "W/m2K", 200.0, 1.0)
    if not -10 <= cooling.air_c < cooling.chocolate_c - 1:
        raise InputError(
            f"Air of {cooling.air_c:g} °C does not set chocolate of {cooling.chocolate_c:g} °C.",
            "Use air of 10 to 14 °C.",
        )
    if not cooling.air_c - 20 <= cooling.mould_c <= cooling.chocolate_c <= 40:
        raise InputError(
            f"A mould of {cooling.mould_c:g} °C and chocolate of {cooling.chocolate_c:g} °C do "
            "not go together.",
            "Pour tempered chocolate into moulds of 20 to 27 °C that are no hotter than it.",
        )
    if stable_level(cooling.air_c + bar.depression_k) <= 2 * SEED_SHARE:
        raise InputError(
            f"In air of {cooling.air_c:g} °C this chocolate does not set.",
            "Use air of 10 to 14 °C.",
        )


def _positive(what: str, value: float, unit: str, most: float, least: float = 0.0) -> None:
    if not least <= value <= most or value <= 0:  # NaN fails this too
        raise InputError(
            f"{what} of {value:g} {unit} cannot be.", f"Give {least:g} to {most:g} {unit}."
        )
