"""A bar in its mould and the air around it, as the shop measures them."""

from dataclasses import replace

from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.chocolate.setting import Bar, Cooling, bar_of

THICKNESS_UM, WALL_UM = 7000, 3000
AIR_MC, SPEED_MM_PER_S, MOULD_MC = 12_000, 1000, 24_000


def bar_and_cooling(
    chocolate: ChocolateDescription, each_g: int, thickness_um: int = THICKNESS_UM,
    mould_g: int | None = None, wall_um: int = WALL_UM, air_mc: int = AIR_MC,
    speed_mm_per_s: int = SPEED_MM_PER_S, mould_mc: int = MOULD_MC,
) -> tuple[Bar, Cooling]:  # fmt: skip
    """Return both for a bar of `each_g` g, of chocolate poured at its working temperature.

    Thickness and wall in micrometres, `mould_g` None = twice the bar's mass, air and mould in
    milli-degC, speed of the air in mm/s. Raises InputError for what cannot be.
    """
    from snapgloss.chocolate.figures import mean_density
    from snapgloss.chocolate.film import film_w_per_m2_k

    kind = chocolate.chocolate_type
    bar = bar_of(
        each_g, thickness_um / 1e6, 2 * each_g if mould_g is None else mould_g, wall_um / 1e6,
        kind.fat_share, kind.depression_k, mean_density(chocolate),
    )  # fmt: skip
    bar = replace(
        bar, own_specific_heat=kind.own_specific_heat, own_latent_heat=kind.own_latent_heat
    )
    work_c = kind.work.default_mc / 1000
    film = film_w_per_m2_k(speed_mm_per_s / 1000)
    return bar, Cooling(air_mc / 1000, film, work_c, mould_mc / 1000)
