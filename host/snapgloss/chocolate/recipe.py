"""From ingredients to fat, milk fat and the rest, and what cannot be true of a recipe.

Shares here are 0..1 of the chocolate. "Cocoa" is what a label means by it: cocoa mass and cocoa
butter together. The make-up of cocoa mass and milk powder is from memory except where a source
stands beside it.
"""

from dataclasses import astuple, dataclass

from snapgloss.base.fields import FieldRefused
from snapgloss.chocolate import components

COCOA_MASS_FAT = 0.54
"""Cocoa mass holds 50-60 % of cocoa butter (Codex draft standard), typically 50-55 %."""
MILK_POWDER_FAT = 0.26
"""Whole milk powder: 26 to under 42 % (Codex standard 207, from memory)."""

_REST = {
    # Of 1 kg of each, without its fat: protein, carbohydrate, fibre, ash, water.
    "cocoa_mass": {"protein": 0.12, "carbohydrate": 0.12, "fibre": 0.17, "ash": 0.03,
                   "water": 0.02},
    "milk_powder": {"protein": 0.26, "carbohydrate": 0.38, "ash": 0.06, "water": 0.04},
    "skim_powder": {"protein": 0.36, "carbohydrate": 0.52, "ash": 0.08, "water": 0.04},
    "other": {"carbohydrate": 1.0},
}  # fmt: skip
SUM_MOST, SUM_LEAST = 1.005, 0.97
"""Labels round to whole percents; less than 97 % means that something was left out."""
FAT_APART_MOST = 0.06
"""The label's fat and that of the ingredients may differ so far: cocoa mass is not all alike."""
MILK_FAT_APART_MOST = 0.06


@dataclass(frozen=True, slots=True)
class Recipe:
    """Shares of the chocolate, 0..1; None where the label does not say.

    `cocoa` mass and butter together, `cocoa_butter` the added butter in it; `milk_powder` whole,
    `skim_powder` without fat, `butter_oil` pure milk fat.
    """

    cocoa: float | None = None
    cocoa_butter: float | None = None
    sugar: float | None = None
    milk_powder: float | None = None
    skim_powder: float | None = None
    butter_oil: float | None = None
    lecithin: float | None = None
    other: float | None = None

    @property
    def known(self) -> bool:
        """True when cocoa and sugar are given: then the ingredients must be all of it."""
        return self.cocoa is not None and self.sugar is not None

    @property
    def has_milk(self) -> bool:
        """True when an ingredient of milk is named."""
        return any((self.milk_powder, self.skim_powder, self.butter_oil))

    @property
    def whole(self) -> float:
        """Return the sum of all that is named; added cocoa butter is part of the cocoa."""
        return sum(v or 0.0 for v in astuple(self)) - (self.cocoa_butter or 0.0)

    @property
    def milk_fat(self) -> float:
        """Return milk fat, of the chocolate."""
        return MILK_POWDER_FAT * (self.milk_powder or 0.0) + (self.butter_oil or 0.0)

    @property
    def cocoa_fat(self) -> float:
        """Return cocoa butter, added and in the mass, of the chocolate."""
        added = self.cocoa_butter or 0.0
        return added + COCOA_MASS_FAT * ((self.cocoa or 0.0) - added)

    @property
    def fat(self) -> float:
        """Return all fat, lecithin counted in."""
        return self.cocoa_fat + self.milk_fat + (self.lecithin or 0.0)

    @property
    def dry_cocoa_without_fat(self) -> float:
        """Return what the cocoa brings besides fat (its little water counted in)."""
        return (self.cocoa or 0.0) - self.cocoa_fat

    @property
    def milk_solids(self) -> float:
        """Return the dry matter of milk, milk fat included."""
        powders = (self.milk_powder or 0.0) + (self.skim_powder or 0.0)
        return 0.96 * powders + (self.butter_oil or 0.0)


def parts(recipe: Recipe) -> dict[str, float]:
    """Return shares 0..1 of fat, sugar, protein, carbohydrate, fibre, ash, water; sum 1.

    The recipe must be `known`.
    """
    added = recipe.cocoa_butter or 0.0
    amounts = {
        "cocoa_mass": (recipe.cocoa or 0.0) - added,
        "milk_powder": recipe.milk_powder or 0.0,
        "skim_powder": recipe.skim_powder or 0.0,
        "other": recipe.other or 0.0,
    }
    found = {"fat": recipe.fat, "sugar": recipe.sugar or 0.0}
    for ingredient, amount in amounts.items():
        for name, share in _REST[ingredient].items():
            found[name] = found.get(name, 0.0) + amount * share
    whole = sum(found.values())
    return {name: share / whole for name, share in found.items()}


def specific_heat(recipe: Recipe) -> float:
    """Return J/kg K of a known recipe at `components.AT_C`, by its components."""
    return float(sum(
        share * components.specific_heat(name, components.AT_C)
        for name, share in parts(recipe).items()
    ))  # fmt: skip


def check_recipe(recipe: Recipe, fat: float | None, milk_fat_of_fat: float | None) -> None:
    """Raise FieldRefused for what cannot be true together.

    `fat` is the label's, of the chocolate; `milk_fat_of_fat` milk fat over all fat.
    """
    _check_sum(recipe)
    if recipe.cocoa_butter is not None:
        if recipe.cocoa is None:
            raise FieldRefused("cocoa_butter", 'is part of the cocoa; add cocoa = "72 %" or so')
        if recipe.cocoa_butter > recipe.cocoa:
            raise FieldRefused("cocoa_butter", "is more than all the cocoa; it is a part of it")
    if fat is not None and recipe.milk_fat > fat:
        raise FieldRefused("fat", f"{_percent(fat)} is less than the milk fat alone, "
                           f"{_percent(recipe.milk_fat)}; check both")  # fmt: skip
    if fat is not None and recipe.known and abs(recipe.fat - fat) > FAT_APART_MOST:
        raise FieldRefused("fat", f"the label says {_percent(fat)}, the ingredients give "
                           f"{_percent(recipe.fat)}; check both")  # fmt: skip
    if milk_fat_of_fat is not None and recipe.has_milk and (fat or recipe.known):
        of_fat = recipe.milk_fat / (fat or recipe.fat)
        if abs(of_fat - milk_fat_of_fat) > MILK_FAT_APART_MOST:
            raise FieldRefused("milk_fat", f"read {_percent(milk_fat_of_fat)} of the fat, the "
                               f"ingredients give {_percent(of_fat)}; leave one out")  # fmt: skip


def _check_sum(recipe: Recipe) -> None:
    whole = recipe.whole
    if whole > SUM_MOST:
        raise FieldRefused(_largest(recipe), f"the ingredients add up to {_percent(whole)}; "
                           "together they are 100 %")  # fmt: skip
    if recipe.known and whole < SUM_LEAST:
        raise FieldRefused(_largest(recipe), f"the ingredients add up to {_percent(whole)} only; "
                           'name what is left, or add other = "..."')  # fmt: skip


def _largest(recipe: Recipe) -> str:
    names = [name for name in Recipe.__slots__ if name != "cocoa_butter"]
    return max(names, key=lambda name: getattr(recipe, name) or 0.0)


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %"
