"""Heat of chocolate: what it holds, and how long warming and cooling take.

Pure functions of floats. Units: kg, J, W, W/K, degC, minutes. Shares are 0..1.

Sources named below, by short name:
- "Beckett 2009": property tables of Beckett (ed.), *Industrial Chocolate Manufacture and Use*,
  4th ed., pp. 667-668 (specific heats; latent heats there after Chevalley et al. 1970).
What has no source says so.
"""

from __future__ import annotations

import math

LATENT_FAT_V_J_PER_KG = 137e3
"""Melting heat of form V, per kg of fat (Beckett's handbook, second-hand; +-10 %)."""

MILK_FAT_K_PER_PERCENT = 0.08
"""The one rule for milk fat: melting points fall by so much per 1 % of the fat. Own pick between
0.066 (ideal solubility, calculated) and 0.10 (common practice, no source)."""

MELT_FOOT_C = 20.0
MELT_PEAK_C = 32.0
MELT_END_C = 35.5
"""Feet and peak of the triangle of melting of set chocolate. The shape is an assumption."""

PLATEAU_C = 33.0
"""Where the lumped forecast puts all the melting: one point of the range above."""


def specific_heat(fat_share: float) -> float:
    """J/kg K without latent heat, by mixing fat (2090) and dry solids (1400).

    `fat_share` 0.2..0.5 of the mass. Gives 1590..1680 for 28..40 % fat, against 1590 (15-40 degC)
    and 1670 (40-60 degC) measured on chocolate (Beckett 2009); good to about 8 %.
    """
    return 2090.0 * fat_share + 1400.0 * (1.0 - fat_share)


def latent_heat(fat_share: float, fat_j_per_kg: float = LATENT_FAT_V_J_PER_KG) -> float:
    """J/kg of chocolate from fully set to melted: fat share times the fat's latent heat.

    `fat_j_per_kg` runs from 137e3 (form V alone) to 157e3 (whole cocoa butter, Beckett 2009).
    """
    return fat_share * fat_j_per_kg


def melting_depression(milk_fat_share: float) -> float:
    """Kelvin by which milk fat lowers every melting point: 0.08 K per 1 % of the total fat.

    `milk_fat_share` is milk fat over total fat, 0..0.3. Between 0.066 (ideal solubility of 6.6 K
    per unit share) and 0.10 (the trade's shift from dark to milk); a guess until fitted.
    """
    return 100.0 * MILK_FAT_K_PER_PERCENT * milk_fat_share


def melted_share(at_c: float) -> float:
    """Share (0..1) of set chocolate that is melted at `at_c`: the integral of the triangle.

    Feet 20 and 35.5 degC, peak 32 degC; the shape is assumed, chocolate starts to melt at
    28-30 degC to the eye. For milk fat pass `at_c + melting_depression(...)`.
    """
    width = MELT_END_C - MELT_FOOT_C
    if at_c <= MELT_FOOT_C:
        return 0.0
    if at_c >= MELT_END_C:
        return 1.0
    if at_c <= MELT_PEAK_C:
        rise = at_c - MELT_FOOT_C
        return rise * rise / (width * (MELT_PEAK_C - MELT_FOOT_C))
    left = MELT_END_C - at_c
    return 1.0 - left * left / (width * (MELT_END_C - MELT_PEAK_C))


def approach_minutes(
    from_c: float, to_c: float, settle_c: float, heat_j_per_k: float, loss_w_per_k: float
) -> float:
    """Minutes for a lumped mass to go from `from_c` to `to_c` on its way to `settle_c`.

    Newton's law, C/UA ln((settle - from)/(settle - to)); infinite when `to_c` lies beyond
    `settle_c`. `loss_w_per_k` must be over 0.
    """
    if from_c == to_c:
        return 0.0
    if (settle_c - to_c) * (to_c - from_c) <= 0.0:
        return math.inf
    ratio = (settle_c - from_c) / (settle_c - to_c)
    return heat_j_per_k / loss_w_per_k * math.log(ratio) / 60.0


def _warming_minutes(
    from_c: float,
    to_c: float,
    heat_j_per_k: float,
    power_w: float,
    loss_w_per_k: float,
    room_c: float,
) -> float:
    if loss_w_per_k > 0.0:
        settle_c = room_c + power_w / loss_w_per_k
        return approach_minutes(from_c, to_c, settle_c, heat_j_per_k, loss_w_per_k)
    if power_w <= 0.0:
        return math.inf if to_c > from_c else 0.0
    return heat_j_per_k * (to_c - from_c) / power_w / 60.0


def heating_minutes(
    mass_kg: float,
    from_c: float,
    to_c: float,
    power_w: float,
    *,
    loss_w_per_k: float = 0.0,
    room_c: float = 22.0,
    bowl_j_per_k: float = 0.0,
    specific_j_per_kg_k: float = 1600.0,
    latent_j_per_kg: float = 0.0,
    plateau_c: float = PLATEAU_C,
) -> float:
    """Minutes to warm well-mixed chocolate from `from_c` up to `to_c` with `power_w` into it.

    Three stages: warming to the melt plateau, melting `latent_j_per_kg` (0 = already liquid) at
    it, warming on. Infinite when the heater cannot overcome the loss. 0 when `to_c <= from_c`.
    Set chocolate conducts poorly: a real bowl takes 1.3 to 2 times as long (common practice).
    """
    if to_c <= from_c:
        return 0.0
    heat_j_per_k = mass_kg * specific_j_per_kg_k + bowl_j_per_k
    args = (heat_j_per_k, power_w, loss_w_per_k, room_c)
    if latent_j_per_kg <= 0.0 or not from_c < plateau_c < to_c:
        return _warming_minutes(from_c, to_c, *args)
    spare_w = power_w - loss_w_per_k * (plateau_c - room_c)
    if spare_w <= 0.0:
        return math.inf
    melting = mass_kg * latent_j_per_kg / spare_w / 60.0
    before = _warming_minutes(from_c, plateau_c, *args)
    return before + melting + _warming_minutes(plateau_c, to_c, *args)


def cooling_minutes(
    mass_kg: float,
    from_c: float,
    to_c: float,
    *,
    loss_w_per_k: float,
    room_c: float,
    bowl_j_per_k: float = 0.0,
    specific_j_per_kg_k: float = 1600.0,
) -> float:
    """Minutes to cool liquid chocolate from `from_c` down to `to_c`; infinite if the room is not
    cooler than `to_c`. Crystal heat is left out: 1 % of the fat is worth 0.3 K.
    """
    if to_c >= from_c:
        return 0.0
    if loss_w_per_k <= 0.0:
        return math.inf
    heat_j_per_k = mass_kg * specific_j_per_kg_k + bowl_j_per_k
    return approach_minutes(from_c, to_c, room_c, heat_j_per_k, loss_w_per_k)


def seed_balance(
    mass_kg: float,
    at_c: float,
    seed_kg: float,
    seed_c: float,
    melting_share: float,
    *,
    specific_j_per_kg_k: float = 1600.0,
    latent_j_per_kg: float = 46e3,
) -> float:
    """Temperature in degC once `seed_kg` at `seed_c` is stirred in and `melting_share` (0..1) of
    it has melted. No loss to the room.
    """
    heat = specific_j_per_kg_k * (mass_kg * at_c + seed_kg * seed_c)
    heat -= seed_kg * melting_share * latent_j_per_kg
    return heat / (specific_j_per_kg_k * (mass_kg + seed_kg))


def seed_wanted(
    at_c: float,
    to_c: float,
    seed_c: float,
    melting_share: float,
    *,
    specific_j_per_kg_k: float = 1600.0,
    latent_j_per_kg: float = 46e3,
) -> float:
    """kg of seed per kg of melted chocolate that brings it from `at_c` down to `to_c`.

    The melting is worth some 29 K of plain warming: leave it out and you add three times too much.
    """
    taken = specific_j_per_kg_k * (to_c - seed_c) + melting_share * latent_j_per_kg
    return specific_j_per_kg_k * (at_c - to_c) / taken


def adiabatic_rise(
    crystal_share: float,
    fat_share: float,
    *,
    specific_j_per_kg_k: float = 1600.0,
    fat_j_per_kg: float = LATENT_FAT_V_J_PER_KG,
) -> float:
    """Kelvin gained when `crystal_share` (0..1) of the fat sets as form V and no heat escapes."""
    return crystal_share * latent_heat(fat_share, fat_j_per_kg) / specific_j_per_kg_k
