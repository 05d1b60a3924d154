"""What a recipe may be sold as in the European Union: least shares by Directive 2000/36/EC.

Annex I A of the directive, points 3, 4, 5 and 6, as dry matter of the whole chocolate. Told to the
maker, never a reason to refuse: a workshop may temper what it likes. Other countries differ.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from snapgloss.chocolate.recipe import Recipe


class Least(NamedTuple):
    """Least shares of the chocolate, 0..1; 0 where the directive asks for none."""

    cocoa: float = 0.0
    cocoa_butter: float = 0.0
    fat_free_cocoa: float = 0.0
    milk_solids: float = 0.0
    milk_fat: float = 0.0
    fat: float = 0.0


LEAST: Mapping[str, Least] = MappingProxyType(
    {
        "chocolate": Least(cocoa=0.35, cocoa_butter=0.18, fat_free_cocoa=0.14),
        "milk chocolate": Least(0.25, 0.0, 0.025, 0.14, 0.035, 0.25),
        "family milk chocolate": Least(0.20, 0.0, 0.025, 0.20, 0.05, 0.25),
        "white chocolate": Least(cocoa_butter=0.20, milk_solids=0.14, milk_fat=0.035),
    }
)
WORDS = ("cocoa", "cocoa butter", "fat-free cocoa", "milk solids", "milk fat", "fat")
BY_TYPE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "dark": ("chocolate",),
        "milk": ("milk chocolate", "family milk chocolate"),
        "white": ("white chocolate",),
    }
)


def shortfalls(recipe: Recipe, name: str) -> list[str]:
    """Return a phrase for each share under that of the directive; empty = it may bear the name.

    `name` is a key of LEAST; the recipe must be `known`.
    """
    has = Least(
        recipe.cocoa or 0.0,
        recipe.cocoa_fat,
        recipe.dry_cocoa_without_fat,
        recipe.milk_solids,
        recipe.milk_fat,
        recipe.fat - (recipe.lecithin or 0.0),
    )
    return [
        f"{word} {share * 100:.1f} %, at least {least * 100:g} % is asked for"
        for word, share, least in zip(WORDS, has, LEAST[name], strict=True)
        if round(share, 6) < least
    ]


def names_of(recipe: Recipe, kind: str) -> list[str]:
    """Return the names of the directive that this recipe may bear; `kind` dark, milk or white."""
    return [name for name in BY_TYPE[kind] if not shortfalls(recipe, name)]
