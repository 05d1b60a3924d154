"""The names a chocolate's file uses, the model's name for each, and how its value is written."""

from fractions import Fraction

from snapgloss.base.fields import SHARE, TEMPERATURE, Field, Quantity
from snapgloss.base.units import measure

FORMAT = 1

SHARES = (
    "cocoa", "cocoa_butter", "sugar", "milk_powder", "skim_powder", "butter_oil", "lecithin",
    "other",
)  # fmt: skip
LISTS = ("lots", "allergens", "may_contain")
_ALLERGENS = '["milk", "soya"]'
LIST_EXAMPLES = {"lots": '["24-117"]', "allergens": _ALLERGENS, "may_contain": _ALLERGENS}

_PER_KG = {"kJ/kg": Fraction(1000), "J/g": Fraction(1000), "J/kg": Fraction(1)}
_PER_KG_K = {
    "J/kg K": Fraction(1),
    "J/kgK": Fraction(1),
    "J/(kg K)": Fraction(1),
    "kJ/kg K": Fraction(1000),
}
_PER_M3 = {"kg/m3": Fraction(1), "g/l": Fraction(1), "g/ml": Fraction(1000)}
_KELVIN = {"C": Fraction(1000), "K": Fraction(1000), "F": Fraction(5000, 9)}


def _latent(text: str) -> int:
    return measure(text, "a heat per mass", "46 kJ/kg", _PER_KG, 1000, 500_000)


def _specific(text: str) -> int:
    return measure(text, "a specific heat", "1600 J/kg K", _PER_KG_K, 100, 10_000)


def _density(text: str) -> int:
    return measure(text, "a density", "1250 kg/m3", _PER_M3, 100, 10_000)


def _kelvin(text: str) -> int:
    return measure(text, "a difference of temperatures", "1.3 C", _KELVIN, 0, 50_000)


LATENT = Quantity(_latent, lambda j: f"{j} J/kg", "46 kJ/kg")
SPECIFIC = Quantity(_specific, lambda j: f"{j} J/kg K", "1600 J/kg K")
DENSITY = Quantity(_density, lambda kg: f"{kg} kg/m3", "1250 kg/m3")
KELVIN = Quantity(_kelvin, lambda mk: f"{mk / 1000:g} C", "1.3 C")

FIELDS: dict[str, Field] = {
    "name": Field("name"),
    "type": Field("type"),
    "fat": Field("fat_permille", SHARE),
    "milk_fat": Field("milk_fat_permille", SHARE),
    **{name: Field(f"{name}_permille", SHARE) for name in SHARES},
    "origin": Field("origin"),
    "lot": Field("lot"),
    "lots": Field("lots"),
    "allergens": Field("allergens"),
    "may_contain": Field("may_contain"),
    "inclusions": Field("inclusions"),
    "notes": Field("notes"),
    "latent_heat": Field("latent_heat_j_per_kg", LATENT),
    "specific_heat": Field("specific_heat_j_per_kg_k", SPECIFIC),
    "density": Field("density_kg_per_m3", DENSITY),
    "depression": Field("depression_mk", KELVIN),
    "work_cap": Field("work_cap_mc", TEMPERATURE),
    "wall_cap": Field("wall_cap_mc", TEMPERATURE),
}
