"""Heat between a surface and the air that moves over it.

Sources: laminar flow over a flat plate, Nu = 0.664 Re^1/2 Pr^1/3 (Pohlhausen's solution, any
textbook of heat transfer); still air over a small warm plate and the cube rule for both together
from the same books, from memory. Air at 12 degC, figures from memory.
"""

import math

from snapgloss.base.errors import InputError

AIR_W_PER_M_K, AIR_M2_PER_S, AIR_PRANDTL = 0.0249, 1.44e-5, 0.71
STILL_W_PER_M2_K = 3.5
"""Mean of above and below a plate of 0.15 m some 10 K warmer than still air; 2 to 5."""
RADIATION_W_PER_M2_K = 4.7
"""4 e sigma T^3 for e = 0.9 at 285 K. A stack of moulds sees itself: then leave it out."""
SPEED_MOST_M_PER_S = 5.0


def film_w_per_m2_k(air_m_per_s: float, length_m: float = 0.15, sees_walls: bool = True) -> float:
    """W/m2K of a plate `length_m` (0.02..1) long in air of 0..5 m/s; good to about 30 %.

    `sees_walls`: radiation to surroundings as cold as the air counts too. InputError for a speed
    that is no breeze in a refrigerator.
    """
    if not 0 <= air_m_per_s <= SPEED_MOST_M_PER_S:  # NaN fails this too
        raise InputError(
            f"Air of {air_m_per_s:g} m/s cannot be.", f"Give 0 to {SPEED_MOST_M_PER_S:g} m/s."
        )
    reynolds = air_m_per_s * length_m / AIR_M2_PER_S
    moved = 0.664 * math.sqrt(reynolds) * AIR_PRANDTL ** (1 / 3) * AIR_W_PER_M_K / length_m
    both = math.cbrt(moved**3 + STILL_W_PER_M2_K**3)
    return both + (RADIATION_W_PER_M2_K if sees_walls else 0.0)
