"""How long a cold bar or box takes to warm until nothing settles on it."""

from snapgloss.base.errors import InputError
from snapgloss.chocolate import heat
from snapgloss.chocolate.setting import MOULD_J_PER_KG_K, Bar, Cooling, conductance_w_per_k

STILL_FILM_W_PER_M2_K = 8.0
"""Still air of a room and radiation (textbooks of heat transfer, 5 to 10)."""


def warm_minutes(bar: Bar, from_c: float, to_c: float, room_c: float) -> float:
    """Minutes until a bar in its mould has warmed to `to_c` in still air; 0 if it is as warm.

    One mass, no melting: good below 20 degC. Infinite when the room is not warmer than `to_c`.
    """
    if bar.mass_g <= 0:
        raise InputError("A bar of 0 g does not warm.", "Say how heavy a bar is.")
    if from_c >= to_c:
        return 0.0
    per_k = bar.mass_g / 1000 * heat.specific_heat(bar.fat_share)
    per_k += bar.mould_g / 1000 * MOULD_J_PER_KG_K
    loss = conductance_w_per_k(bar, Cooling(room_c, STILL_FILM_W_PER_M2_K))
    return heat.approach_minutes(from_c, to_c, room_c, per_k, loss)
