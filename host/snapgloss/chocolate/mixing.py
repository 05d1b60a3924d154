"""Chocolate put together: where it comes to rest, and how much of one brings it to a target.

A balance of mass and heat. What is set melts as far as the resting temperature melts it
(`heat.melted_share`); what is liquid stays liquid, for setting takes longer than stirring. No loss
to the room. Units: g, degC; J/kg K and J/kg of chocolate.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass
from snapgloss.chocolate import heat

COLDEST_C, HOTTEST_C = -30.0, 70.0
MASS_MOST_G = 100_000.0
TOP_UP_MOST_SHARE, TOP_UP_MOST_C = 0.10, 42.0
"""While working: 5-10 % of the bowl at about 40 degC (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Portion:
    """So much chocolate at one temperature; `is_set`: solid, with its latent heat still to take.

    `depression_k` of its melting points by milk fat.
    """

    mass_g: float
    at_c: float
    is_set: bool = False
    specific_j_per_kg_k: float = 1600.0
    latent_j_per_kg: float = 46e3
    depression_k: float = 0.0

    def heat_to_j(self, to_c: float) -> float:
        """Return the heat in J that it takes to bring this portion to `to_c`; negative = gives."""
        kg = self.mass_g / 1000
        taken = kg * self.specific_j_per_kg_k * (to_c - self.at_c)
        if self.is_set:
            melted = heat.melted_share(to_c + self.depression_k)
            melted -= heat.melted_share(self.at_c + self.depression_k)
            taken += kg * self.latent_j_per_kg * melted
        return taken


@dataclass(frozen=True, slots=True)
class Mixture:
    """What portions become: grams, degC, and the set share of what was set (0..1, 0 if none)."""

    mass_g: float
    at_c: float
    still_set_share: float


def mix(portions: Sequence[Portion], bowl_j_per_k: float = 0.0, bowl_c: float = 20.0) -> Mixture:
    """Return what the portions come to, with a bowl of that heat and temperature.

    Raises InputError for no portion, a mass of 0 or less, or a temperature outside -30..70.
    """
    if not portions:
        raise InputError("Nothing is mixed.", "Name what goes in.")
    for portion in portions:
        check_portion(portion)
    if not (bowl_j_per_k >= 0 and COLDEST_C <= bowl_c <= HOTTEST_C):
        raise InputError("Such a bowl cannot be.", "Give its heat in J/K and its temperature.")
    low_c = min(p.at_c for p in portions)
    high_c = max(p.at_c for p in portions)
    if bowl_j_per_k > 0:
        low_c, high_c = min(low_c, bowl_c), max(high_c, bowl_c)

    def taken_j(at_c: float) -> float:
        return sum(p.heat_to_j(at_c) for p in portions) + bowl_j_per_k * (at_c - bowl_c)

    at_c = _root(taken_j, low_c, high_c)
    return Mixture(sum(p.mass_g for p in portions), at_c, _still_set(portions, at_c))


def mass_to_reach(bowl: Portion, added: Portion, target_c: float) -> float:
    """Return the grams of `added` (its own mass does not matter) that bring `bowl` to `target_c`.

    Raises InputError when the target does not lie between both, or adding cannot reach it.
    """
    one = Portion(1.0, added.at_c, added.is_set, added.specific_j_per_kg_k,
                  added.latent_j_per_kg, added.depression_k)  # fmt: skip
    for portion in (bowl, one):
        check_portion(portion)
    if not min(bowl.at_c, added.at_c) < target_c < max(bowl.at_c, added.at_c):
        raise InputError(
            f"{target_c:g} °C does not lie between {bowl.at_c:g} °C in the bowl and "
            f"{added.at_c:g} °C of what is added.",
            "Choose a target between both.",
        )
    from_bowl_j, per_gram_j = bowl.heat_to_j(target_c), one.heat_to_j(target_c)
    if per_gram_j * from_bowl_j >= 0:  # set chocolate that must melt takes heat on the way down
        raise InputError(
            f"Adding that does not bring the bowl to {target_c:g} °C: its melting takes the heat.",
            "Melt it first, or add hotter chocolate.",
        )
    grams = -from_bowl_j / per_gram_j
    if grams > MASS_MOST_G:
        raise InputError(
            f"That would take {grams / 1000:.0f} kg.", "Choose a target nearer to the bowl's."
        )
    return grams


def top_up_trouble(bowl_g: float, added: Portion) -> str:
    """Return why this is too much or too hot for a bowl at work, or "" when it is within practice.

    5-10 % of the bowl at about 40 degC; 20 % at 45 takes 31.5 to 33.8 and loses the temper.
    """
    if added.is_set:
        return ""
    if added.at_c > TOP_UP_MOST_C:
        return f"At {added.at_c:.0f} °C it kills the crystals where it goes in: about 40 °C."
    most_g = bowl_g * TOP_UP_MOST_SHARE
    if added.mass_g > most_g:
        return f"At most {show_mass(int(most_g))} at a time, stirred, then wait."
    return ""


def check_portion(portion: Portion) -> None:
    """Raise InputError for a portion that cannot be."""
    if not 0 < portion.mass_g <= MASS_MOST_G:  # NaN fails this too
        raise InputError(
            f"{portion.mass_g:g} g of chocolate cannot be mixed.", "Give more than 0 g."
        )
    if not COLDEST_C <= portion.at_c <= HOTTEST_C:
        raise InputError(
            f"Chocolate of {portion.at_c:g} °C cannot be mixed.",
            f"Give {COLDEST_C:g} to {HOTTEST_C:g} °C.",
        )
    if portion.is_set and portion.at_c + portion.depression_k >= heat.MELT_END_C:
        raise InputError(
            f"Chocolate of {portion.at_c:g} °C is not solid.", "Say that it is melted."
        )


def _root(taken_j: Callable[[float], float], low_c: float, high_c: float) -> float:
    """Return where the heat taken is 0; it only grows with temperature."""
    for _ in range(60):
        middle = (low_c + high_c) / 2
        if taken_j(middle) > 0:
            high_c = middle
        else:
            low_c = middle
    return (low_c + high_c) / 2


def _still_set(portions: Sequence[Portion], at_c: float) -> float:
    grams = sum(p.mass_g for p in portions if p.is_set)
    if grams == 0:
        return 0.0
    left = sum(
        p.mass_g * (1 - heat.melted_share(max(p.at_c, at_c) + p.depression_k))
        for p in portions
        if p.is_set
    )
    return left / grams
