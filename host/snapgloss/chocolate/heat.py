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
