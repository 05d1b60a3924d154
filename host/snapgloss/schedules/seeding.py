"""How much seed, and how far it cools the bowl: the balance of mass and heat with melting.

Shares of seed are common practice, no source: 5-8 % grated or chopped chocolate in temper; 0.5-1 %
of stable cocoa-butter crystals (a food-technology portal, 2011, has 1 % at 34 degC; over 270 ppm
of the fat was enough in a laboratory, Kinta & Hartel 2010).
"""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import ChocolateType

SeedKind = Literal["chopped", "crystals"]


class Share(NamedTuple):
    """Usual shares of the bowl, and how much of the seed's own fat melts in it (assumption)."""

    least: float
    usual: float
    most: float
    melting: float
    round_g: int


SHARES: Mapping[SeedKind, Share] = MappingProxyType(
    {
        "chopped": Share(0.05, 0.06, 0.08, 0.5, 5),
        "crystals": Share(0.005, 0.01, 0.01, 0.0, 1),
    }
)
COLD_SEED_C = -25.0


class Seeding(NamedTuple):
    """Grams of seed, the bowl temperature it goes in at, and where bowl and seed come to rest."""

    seed_g: int
    at_c: float
    landing_c: float
    share: float


def weigh_seed(
    chocolate: ChocolateType,
    mass_g: int,
    seed_c: float,
    seed_kind: SeedKind = "chopped",
    bowl_j_per_k: float = 0.0,
) -> Seeding:
    """Return the seed for a bowl of `mass_g` at the type's seeding temperature.

    The usual share, or less where cold seed would take the bowl under its working temperature,
    but never less than the least share. `seed_c` is the seed's own temperature, `bowl_j_per_k`
    the heat of plate and bowl. Raises InputError for seed that is hotter than the bowl, that has
    lost its own temper, or so cold that even the least share chills the bowl too far.
    """
    limits, at_c = SHARES[seed_kind], chocolate.seed_at_mc / 1000
    if mass_g <= 0:
        raise InputError("There is nothing in the bowl to seed.", "Say how much chocolate.")
    _check_seed(chocolate, seed_c, at_c)
    most_g, step_g = round(mass_g * limits.usual), limits.round_g
    least_g = round(mass_g * limits.least)
    seed_g = max(step_g, round(most_g / step_g) * step_g)
    work_c = chocolate.work.default_mc / 1000
    while seed_g - step_g >= least_g and _land(chocolate, mass_g, at_c, seed_g, seed_c, limits,
                                               bowl_j_per_k) < work_c:  # fmt: skip
        seed_g -= step_g
    landing_c = _land(chocolate, mass_g, at_c, seed_g, seed_c, limits, bowl_j_per_k)
    if landing_c < chocolate.work_low_mc / 1000:
        raise InputError(
            f"{show_mass(seed_g)} of seed at {_shown(seed_c)} chills {show_mass(mass_g)} to "
            f"{_shown(landing_c)}, where it is too thick.",
            "Let the seed come to the room's temperature first.",
        )
    return Seeding(seed_g, at_c, landing_c, seed_g / mass_g)


def landing_c(
    chocolate: ChocolateType, mass_g: float, at_c: float, seed_g: float, seed_c: float,
    melting_share: float, bowl_j_per_k: float = 0.0,
) -> float:  # fmt: skip
    """Return degC once the seed is stirred in and `melting_share` (0..1) of it has melted.

    Heat of bowl and chocolate against that of the seed and its melting; no loss to the room.
    """
    specific = chocolate.specific_heat
    bowl_kg = bowl_j_per_k / specific  # plate and bowl, as so much chocolate more
    return heat.seed_balance(
        mass_g / 1000 + bowl_kg, at_c, seed_g / 1000, seed_c, melting_share,
        specific_j_per_kg_k=specific, latent_j_per_kg=chocolate.latent_heat,
    )  # fmt: skip


def _land(
    chocolate: ChocolateType, mass_g: int, at_c: float, seed_g: int, seed_c: float,
    limits: Share, bowl_j_per_k: float,
) -> float:  # fmt: skip
    return landing_c(chocolate, mass_g, at_c, seed_g, seed_c, limits.melting, bowl_j_per_k)


def _check_seed(chocolate: ChocolateType, seed_c: float, at_c: float) -> None:
    if not COLD_SEED_C <= seed_c < at_c:  # NaN fails this too
        raise InputError(
            f"Seed of {_shown(seed_c)} does not go into a bowl of {_shown(at_c)}.",
            "Seed must be solid and cooler than the bowl: keep it in the room.",
        )
    if seed_c > chocolate.work_low_mc / 1000:
        raise InputError(
            f"Seed of {_shown(seed_c)} is soft and has lost its temper.",
            f"Keep it under {show_temperature(chocolate.work_low_mc)}, in a cooler place.",
        )


def _shown(celsius: float) -> str:
    return show_temperature(round(celsius * 1000)) if math.isfinite(celsius) else "no figure"
