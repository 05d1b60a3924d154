"""What follows from a chocolate's description: each figure with its uncertainty and its source.

Shares 0..1, J/kg, J/kg K, kg/m3, K and degC. A figure that the maker gave stands in for the
derived one and says so.
"""

from typing import NamedTuple

from snapgloss.chocolate import components, heat
from snapgloss.chocolate.components import AT_C
from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.chocolate.recipe import parts
from snapgloss.chocolate.recipe import specific_heat as by_components

MIXING_SHARE = 0.08
"""Of the mixing rule for the specific heat, against measured 1590 and 1670 J/kg K."""
LATENT_SHARE = 0.15
"""Of the latent heat: 137 kJ/kg for the fat is form V alone, 157 whole cocoa butter."""
FAT_SET_KG_PER_M3, FAT_LIQUID_KG_PER_M3 = 975.0, 890.0
"""Cocoa butter 960-990 at 15 degC, 880-900 liquid: Beckett 1999, second-hand."""
SOLIDS_KG_PER_M3 = 1550.0
"""Sugar, cocoa and milk solids together (assumption)."""
TYPE_SAYS = "usual for the type; common practice"
OWN = "own figure"


class Figure(NamedTuple):
    """One figure: `plus_minus` in the same unit; `source` a phrase; `own` = given by the maker."""

    value: float
    plus_minus: float
    unit: str
    source: str
    own: bool = False


def figures_of(chocolate: ChocolateDescription) -> dict[str, Figure]:
    """Return all figures of a chocolate by name, in the order a person reads them."""
    return {
        "fat": fat(chocolate),
        "milk_fat": milk_fat(chocolate),
        "latent_heat": latent_heat(chocolate),
        "specific_heat": specific_heat(chocolate),
        "density_liquid": density(chocolate, liquid=True),
        "density_set": density(chocolate, liquid=False),
        "depression": depression(chocolate),
        **_caps(chocolate),
    }


def fat(chocolate: ChocolateDescription) -> Figure:
    """Return the fat, 0..1 of the chocolate."""
    if chocolate.fat_permille is not None:
        return Figure(chocolate.fat_share, 0.01, "of the chocolate", "label")
    if chocolate.recipe.known:
        mass = (chocolate.recipe.cocoa or 0.0) - (chocolate.recipe.cocoa_butter or 0.0)
        words = "ingredients; cocoa mass with 54 % fat (50-60 %, Codex draft standard)"
        return Figure(chocolate.fat_share, max(0.01, 0.05 * mass), "of the chocolate", words)
    return Figure(chocolate.fat_share, 0.06, "of the chocolate", TYPE_SAYS)


def milk_fat(chocolate: ChocolateDescription) -> Figure:
    """Return the milk fat, 0..1 of the fat."""
    share = chocolate.milk_fat_share
    if chocolate.milk_fat_permille is not None:
        return Figure(share, 0.02, "of the fat", "label")
    if chocolate.recipe.has_milk:
        return Figure(share, 0.03, "of the fat", "ingredients; whole milk powder with 26 % fat")
    if chocolate.type == "dark":
        return Figure(share, 0.0, "of the fat", "no milk in it")
    return Figure(share, 0.05, "of the fat", TYPE_SAYS)


def latent_heat(chocolate: ChocolateDescription) -> Figure:
    """Return the melting heat from fully set, J/kg of chocolate."""
    own = chocolate.latent_heat_j_per_kg
    if own is not None:
        return Figure(own, 0.0, "J/kg", OWN, True)
    value = heat.latent_heat(chocolate.fat_share)
    words = "fat x 137 kJ/kg, form V; Chevalley 1970 measured 46 dark, 44 milk kJ/kg"
    return Figure(value, value * LATENT_SHARE, "J/kg", words)


def specific_heat(chocolate: ChocolateDescription) -> Figure:
    """Return J/kg K without melting; by components where the recipe is known.

    The difference to the mixing rule, which agrees with measurements, is the uncertainty.
    """
    own = chocolate.specific_heat_j_per_kg_k
    if own is not None:
        return Figure(own, 0.0, "J/kg K", OWN, True)
    mixed = heat.specific_heat(chocolate.fat_share)
    if not chocolate.recipe.known:
        words = "fat x 2090 + rest x 1400; Beckett 2009 has 1590 to 1670 measured"
        return Figure(mixed, mixed * MIXING_SHARE, "J/kg K", words)
    value = by_components(chocolate.recipe)
    words = "components of Choi & Okos 1986, crystalline sugar of Antokolskaia 1964"
    return Figure(value, max(abs(value - mixed), 0.03 * value), "J/kg K", words)


def density(chocolate: ChocolateDescription, liquid: bool) -> Figure:
    """Return kg/m3, liquid at 40 degC or set."""
    own = chocolate.density_kg_per_m3
    if own is not None:
        return Figure(own, 0.0, "kg/m3", OWN, True)
    fat_kg_per_m3 = FAT_LIQUID_KG_PER_M3 if liquid else FAT_SET_KG_PER_M3
    solids = _solids_kg_per_m3(chocolate)
    share = chocolate.fat_share
    value = 1 / (share / fat_kg_per_m3 + (1 - share) / solids)
    words = "volumes of fat (Beckett 1999) and dry solids added; measured 1200 liquid, 1300 set"
    return Figure(value, 0.04 * value, "kg/m3", words)


def mean_density(chocolate: ChocolateDescription) -> float:
    """Return kg/m3 half-way between liquid and set, for a bar that is neither."""
    return (density(chocolate, True).value + density(chocolate, False).value) / 2


def _solids_kg_per_m3(chocolate: ChocolateDescription) -> float:
    if not chocolate.recipe.known:
        return SOLIDS_KG_PER_M3
    dry = {name: share for name, share in parts(chocolate.recipe).items() if name != "fat"}
    volume = sum(share / components.density(name, AT_C) for name, share in dry.items())
    return float(sum(dry.values()) / volume)


def depression(chocolate: ChocolateDescription) -> Figure:
    """Return the kelvins by which milk fat lowers every melting point."""
    if chocolate.depression_mk is not None:
        return Figure(chocolate.depression_k, 0.0, "K", OWN, True)
    share = chocolate.milk_fat_share
    words = "0.08 K per 1 % milk fat in the fat; 0.066 by ideal solubility, 0.10 in the trade"
    return Figure(chocolate.depression_k, 2.0 * share, "K", words)


def _caps(chocolate: ChocolateDescription) -> dict[str, Figure]:
    kind = chocolate.chocolate_type
    words = "common practice for the type, lowered by milk fat above its usual share"
    hard = "published: milk from 50 and dark from 49-55 degC on turn grainy or burn"
    own_work, own_wall = chocolate.work_cap_mc is not None, chocolate.wall_cap_mc is not None
    return {
        "work": Figure(kind.work.default_mc / 1000, 0.5, "C", words),
        "work_cap": Figure(kind.cap_mc / 1000, 0.5, "C", OWN if own_work else words, own_work),
        "wall_cap": Figure(kind.wall_mc / 1000, 0.5, "C", OWN if own_wall else words, own_wall),
        "never_above": Figure(kind.hard_mc / 1000, 2.0, "C", hard),
    }
