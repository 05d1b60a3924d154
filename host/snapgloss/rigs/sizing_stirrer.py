"""How strong a stirrer must be, and how weak: torque of Casson flow, and the force on a finger."""

import math
from typing import NamedTuple

from snapgloss.chocolate.thickening import casson_pa

SHEAR_PER_TURN = 20.0
"""Mean shear over turns a second, for a paddle that reaches the wall (Metzner and Otto's k; 11 for
a turbine to 25 for an anchor; from memory)."""
YIELD_PA, PLASTIC_PA_S = 29.0, 6.06
"""A thick dark chocolate (rheology application note: 29.0 Pa, 6.06 Pa s)."""
LUMPS = 3.0  # own choice: soft pieces at the end of melting
STALL_MOST_N = (
    50.0  # own choice: force at the paddle's tip of a stalled motor, guarded all the same
)


EFFICIENCY = 0.5  # a small gear motor, gear and all (from memory)


class Stirrer(NamedTuple):
    """Torques in N m and power in W; `stall_most_nm` is what a motor may give before it stalls.

    `power_w` is at the paddle; `with_lumps_w` is what the motor then takes from its supply.
    """

    torque_nm: float
    with_lumps_nm: float
    power_w: float
    stall_most_nm: float
    with_lumps_w: float


def stirrer(
    radius_m: float,
    depth_m: float,
    turns_per_min: float,
    yield_pa: float = YIELD_PA,
    plastic_pa_s: float = PLASTIC_PA_S,
) -> Stirrer:
    """The drive of a paddle that sweeps wall and floor of a bowl.

    Stress by Casson at the mean shear k N; torque = stress x radius x (wall 2 pi r h + floor
    pi r2 x 2/3): as if it worked on all of the wall at once, which is more than it does.
    """
    turns_per_s = turns_per_min / 60
    stress_pa = float(casson_pa(SHEAR_PER_TURN * turns_per_s, yield_pa, plastic_pa_s))
    area_m2 = 2 * math.pi * radius_m * depth_m + 2 / 3 * math.pi * radius_m**2
    torque_nm = stress_pa * radius_m * area_m2
    return Stirrer(
        torque_nm,
        LUMPS * torque_nm,
        torque_nm * 2 * math.pi * turns_per_s,
        STALL_MOST_N * radius_m,
        LUMPS * torque_nm * 2 * math.pi * turns_per_s / EFFICIENCY,
    )
