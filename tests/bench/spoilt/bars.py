"""From the bowl to the bar: a knife, a mould, a refrigerator, a store. What comes out are physical
figures (`Bar`), from which `looks` makes marks; nothing here knows what was done wrong.

A bar is four layers on two of mould, air on both sides, crystals in each layer.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate import setting
from snapgloss.chocolate.moist_air import dew_point_c
from snapgloss.chocolate.setting import (
    CHOCOLATE_KG_PER_M3,
    CHOCOLATE_W_PER_M_K,
    MOULD_J_PER_KG_K,
    MOULD_W_PER_M_K,
)
from spoilt.crystal_lanes import CrystalLanes, stable_level
from spoilt.draw import Array, Batches

STEP_S, CELLS, CELL_M = 3.0, 4, 2e-3
WALL_M, MOULD_KG_PER_M3 = 3e-3, 1200.0
TRAY_J, COOLING_W, BAR_S = 60e3, 70.0, 1800.0
WARMS_W_PER_K = 15.0
SKIN_S = 60.0
"""Heat of a tray of bars, and what a small refrigerator has for it ; its air warms by what is
left over (assumptions). The skin stays at its first temperature for SKIN_S (assumption)."""
AFTER_MIN = 30.0
KNIFE_FILM_S, KNIFE_MIN = 40.0, 10.0
KNIFE_SET, KNIFE_SMOOTH = 0.16, 8e-4
"""Share of what can set at which it no longer shines; fewer seeds than this show as streaks
(both assumptions, so that 1 to 4 % of the fat sets in 3 to 5 min)."""


class Bar(NamedTuple):
    """What a bar is. Shares are of what sets at 12 degC, of `mean_u` and `face_u` of what is set.

    `set_share` as it leaves the mould; `shrunk` the part that set stably in the mould; `face_u`,
    `mean_u` unstable, at the face and altogether; `seeds` at the pour; `skin_c` the chocolate's
    skin as it touches the mould, `skin_seeds` what that leaves of its seeds; `strain_k` the
    greatest difference between layers while set; `mould_dew_k`, `bar_dew_k` dew point less the
    surface; `bloom` what warmth, swings and damp did in the store; `thick` stable share of the fat
    at the pour.
    """

    set_share: Array
    shrunk: Array
    face_u: Array
    mean_u: Array
    seeds: Array
    skin_c: Array
    skin_seeds: Array
    strain_k: Array
    mould_dew_k: Array
    bar_dew_k: Array
    bloom: Array
    thick: Array


class Knife(NamedTuple):
    """Seconds until a film on a knife set, nan where it did not; whether it showed streaks."""

    set_s: Array
    is_streaked: NDArray[np.bool_]


def dip(made: Batches, v: Array, u: Array, n: Array, at_c: Array) -> Knife:
    """Follow a thin film in the room."""
    depression_k = np.zeros(len(made)) + made.of(lambda kind: kind.depression_k)
    film = CrystalLanes(v, u, n, depression_k, made.grow, made.nucleate)
    level = stable_level(made.room_c + depression_k)
    set_s = np.full(len(made), np.nan)
    for step in range(int(KNIFE_MIN * 60 / STEP_S)):
        now_s = step * STEP_S
        film_c = made.room_c + (at_c - made.room_c) * np.exp(-now_s / KNIFE_FILM_S)
        film.step(STEP_S, film_c, 0.0)
        is_set = np.isnan(set_s) & (film.v + film.u >= KNIFE_SET * level)
        set_s[is_set] = now_s
    return Knife(set_s, np.isnan(set_s) | (n < KNIFE_SMOOTH))


def mould(made: Batches, v: Array, u: Array, n: Array, at_c: Array) -> Bar:
    """Pour, cool, turn out, store."""
    count = len(made)
    wide = lambda values: np.repeat(values[:, None], CELLS, axis=1)  # noqa: E731
    depression_k = made.of(lambda kind: kind.depression_k)
    cells = CrystalLanes(wide(v), wide(u), wide(n), wide(depression_k), wide(made.grow),
                         wide(made.nucleate))  # fmt: skip
    at = np.concatenate([np.repeat(made.mould_c[:, None], 2, axis=1), wide(at_c)], axis=1)
    fat = made.of(lambda kind: kind.fat_share)
    cp = made.of(lambda kind: kind.specific_heat)
    strain_k, out = np.zeros(count), [np.full(count, np.nan) for _ in range(2)]
    level = stable_level(12.0 + depression_k)
    for step in range(int((made.tray_min.max() + AFTER_MIN) * 60 / STEP_S)):
        inside = step * STEP_S < made.tray_min * 60
        air_c = np.where(inside, _fridge_c(made, step * STEP_S), made.room_c)
        freed = cells.step(STEP_S, at[:, 2:], 0.0) * fat[:, None]
        at = _conduct(at, air_c, np.where(inside, made.film_w_per_m2_k, 8.0), freed, cp)
        share = (cells.v + cells.u).mean(axis=1) / level
        hard = (share > 0.5) & inside
        spread_k = at[:, 2:].max(axis=1) - at[:, 2:].min(axis=1)
        strain_k = np.where(hard, np.maximum(strain_k, spread_k), strain_k)
        left = inside & ((step + 1) * STEP_S >= made.tray_min * 60)
        out[0][left] = share[left]
        out[1][left] = ((cells.v.mean(axis=1) - v) / level)[left]
    set_now = cells.v + cells.u
    unstable = cells.u / np.maximum(set_now, 1e-9)
    dew_c = dew_point_c(made.room_c, made.humidity_percent)
    return Bar(
        out[0], out[1], unstable[:, 0], unstable.mean(axis=1), n,
        *_skin(made, v, u, n, at_c), strain_k,
        dew_c - made.mould_c + 20.0 * made.is_mould_wet,
        dew_c - (made.fridge_c + made.turn_out_k), _bloom(made), v,
    )  # fmt: skip


def _skin(made: Batches, v: Array, u: Array, n: Array, at_c: Array) -> tuple[Array, Array]:
    """The skin's temperature on touching the mould, and the seeds that live through it."""
    skin_c = contact_c(at_c, made.mould_c)
    depression_k = made.of(lambda kind: kind.depression_k)
    skin = CrystalLanes(v, u, n, depression_k, made.grow, made.nucleate)
    for _ in range(int(SKIN_S / STEP_S)):
        skin.step(STEP_S, skin_c, 0.0)
    return skin_c, skin.n


def _fridge_c(made: Batches, at_s: float) -> Array:
    """The air: too many trays warm it, less and less as they cool."""
    heat_w = made.trays * TRAY_J / BAR_S * np.exp(-at_s / BAR_S)
    return made.fridge_c + np.minimum(
        np.maximum(heat_w - COOLING_W * 2, 0.0) / WARMS_W_PER_K, 10.0
    )


def _conduct(at: Array, air_c: Array, film: Array, freed: Array, cp: Array) -> Array:
    """One step of heat through mould and bar; `freed` J per kg of chocolate."""
    wall_m = WALL_M / 2
    half = np.array([wall_m / MOULD_W_PER_M_K] * 2 + [CELL_M / CHOCOLATE_W_PER_M_K] * CELLS) / 2
    inner = (at[:, 1:] - at[:, :-1]) / (half[1:] + half[:-1])
    below = (at[:, 0] - air_c) / (1 / film + half[0])
    above = (at[:, -1] - air_c) / (1 / film + half[-1])
    gain = np.zeros_like(at)
    gain[:, :-1] += inner
    gain[:, 1:] -= inner
    gain[:, 0] -= below
    gain[:, -1] -= above
    heat = np.empty_like(at)
    heat[:, :2] = wall_m * MOULD_KG_PER_M3 * MOULD_J_PER_KG_K
    heat[:, 2:] = CELL_M * CHOCOLATE_KG_PER_M3 * cp[:, None]
    warmed = at + gain * STEP_S / heat
    warmed[:, 2:] += freed / cp[:, None]
    return warmed


def contact_c(chocolate_c: Array, mould_c: Array) -> Array:
    """As `setting.contact_c`, on arrays."""
    at_0, at_1 = setting.contact_c(0.0, 1.0), setting.contact_c(1.0, 0.0)
    return at_1 * chocolate_c + at_0 * mould_c


def _bloom(made: Batches) -> Array:
    """1 where fat blooms within the week: doubling each 2 K over 24 degC, or by swings of 8 K."""
    warm = 2.0 ** ((made.store_high_c - 24.0) / 2.0)
    swing = ((made.store_high_c - made.store_low_c) / 8.0) ** 3
    damp = 2.0 ** ((made.store_humidity_percent - 70.0) / 4.0)
    return warm + swing + damp
