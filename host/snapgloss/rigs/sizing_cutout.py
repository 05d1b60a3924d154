"""Which cut-out: between the hottest normal plate and where a stuck-on heater ends.

A cut-out that never opens protects nothing; one that opens in a normal batch will be bridged. So
the choice comes from a run: heat stuck on, at low power, attended, until the plate's course shows
where it levels out.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.rigs.sizing_heat import MELT_C

OVER_NORMAL_K = 10.0  # own choice: 10 to 15 K above the hottest normal plate
TOLERANCE_K = 5.0  # of a usual bimetal (from memory)
SURE_K = 3.0  # own choice: the plate must come so far above the cut-out's latest opening
STEP_C = 5.0  # usual ratings (from memory)
MATERIAL_C = 110.0  # own choice: 105 degC wire and silicone at the plate
FREE_AIR_POWER = 1.25
NOT_SURE = (
    "Not sure to open: losses may grow faster than the heat, and the plate level out below it. "
    "Then only you notice: stay with the rig."
)
LINK_OVER_K = 15.0  # own choice: the link opens after the cut-out, never instead of it
LINKS_C = (72.0, 77.0, 84.0, 91.0, 98.0, 104.0, 110.0)
"""Usual ratings of thermal links (from memory)."""
FIRST_C = 55.0
"""The least cut-out to begin with, until a stuck-on run has been measured: own choice. It is for
the commissioning, at an unproved rig's 20 W; in a batch it may open too early."""


class CutOut(NamedTuple):
    """Rated opening in degC, the window it was chosen from, and the thermal link's rating.

    `is_sure`: it opens, late by its tolerance, even where losses grow as those to free air do.
    """

    rated_c: float
    least_c: float
    most_c: float
    link_c: float
    is_sure: bool = True

    def sentence(self) -> str:
        """What to buy; and what is not sure."""
        words = (
            f"Cut-out: rated {self.rated_c:.0f} °C (possible: {self.least_c:.0f} to "
            f"{self.most_c:.0f}); thermal link {self.link_c:.0f} °C."
        )
        return words if self.is_sure else f"{words} {NOT_SURE}"


def levels_at_c(plate_c: Sequence[float]) -> float:
    """Where a plate's rise levels out, from three readings at equal intervals.

    Exact for one exponential: T_end = (T2^2 - T1 T3) / (2 T2 - T1 - T3), Aitken's rule. Raises
    InputError when the readings do not rise, or do not slow down: the run was too short.
    """
    first, second, third = plate_c
    rises = second - first, third - second
    if rises[0] <= 0 or rises[1] <= 0:
        raise InputError(
            "The plate does not rise over the run.", "Begin with a cold plate, and heat longer."
        )
    if rises[1] > 0.9 * rises[0]:
        raise InputError(
            "The plate has not begun to level out: its end cannot be told from this run.",
            "Run on until its rise in the second half is well under that in the first.",
        )
    return (second * second - first * third) / (2 * second - first - third)


def at_full_power_c(level_c: float, room_c: float, run_w: float, full_w: float) -> float:
    """Where the plate would level out at most with the whole heater stuck on: in proportion."""
    return room_c + (level_c - room_c) * full_w / run_w


def at_full_power_least_c(level_c: float, room_c: float, run_w: float, full_w: float) -> float:
    """Where it would level out at least: all losses to free air, which grow as the excess to the
    power 1.25 (laminar free convection, textbook, from memory). The truth lies between."""
    return room_c + (level_c - room_c) * math.pow(full_w / run_w, 1 / FREE_AIR_POWER)


def first_c(at_20_w_c: float, stuck_c: float) -> float:
    """The cut-out to begin with, degC, of a 5 degC series: closed at 20 W, open on a stuck heater.

    `at_20_w_c` and `stuck_c` are where the plate levels out, reckoned, with 20 W and with the
    whole heater. Raises InputError when no rating lies between.
    """
    margin_k = TOLERANCE_K + SURE_K
    rated_c = max(FIRST_C, STEP_C * -(-(at_20_w_c + margin_k) // STEP_C))
    if rated_c > min(stuck_c, MATERIAL_C) - margin_k:
        raise InputError(
            f"No cut-out to begin with: the plate reaches {at_20_w_c:.0f} °C on 20 W and "
            f"{stuck_c:.0f} °C with the heater stuck on.",
            "Take more chocolate on this heater, or one that is stronger by half.",
        )
    return rated_c


def choose(
    normal_c: float, stuck_c: float, material_c: float = MATERIAL_C,
    stuck_least_c: float | None = None,
) -> CutOut:  # fmt: skip
    """The cut-out for a rig whose plate is at most `normal_c` and, stuck on, ends at `stuck_c`
    at most, at `stuck_least_c` at least (None: exactly there).

    The least rating of a 5 degC series that is 10 K over normal and opens, 5 K late, 3 K before
    the plate levels out. Raises InputError when there is none: so the rig is not safe.
    """
    least_c = normal_c + OVER_NORMAL_K
    most_c = min(stuck_c - SURE_K, material_c) - TOLERANCE_K
    rated_c = STEP_C * -(-least_c // STEP_C)
    if rated_c > most_c:
        raise InputError(
            f"No cut-out fits: it must be rated {least_c:.0f} °C or more so as not to open in a "
            f"normal batch, and {most_c:.0f} °C or less so as to open at all.",
            "Keep the plate cooler in a batch (a thicker plate, better contact, slower melting), "
            "or take a cut-out of a narrower tolerance.",
        )
    is_sure = stuck_least_c is None or rated_c + TOLERANCE_K <= stuck_least_c
    return CutOut(rated_c, least_c, most_c, min(link_for_c(rated_c), material_c), is_sure)


def from_run(
    normal_c: float, level_c: float, room_c: float, run_w: float, full_w: float
) -> CutOut:
    """The cut-out from a stuck-on run of `run_w` that levels out at `level_c`; see choose."""
    run = level_c, room_c, run_w, full_w
    stuck_least_c = at_full_power_least_c(*run)
    return choose(normal_c, at_full_power_c(*run), stuck_least_c=stuck_least_c)


def hottest_c(heater_w: float, plate_w_per_k: float) -> float:
    """The hottest plate of a usual batch at the most: the melt's 48 degC and all heat over the
    plate's conductance to the bowl, which a forecast comes to as well, or lower."""
    return MELT_C + heater_w / plate_w_per_k


def link_for_c(cut_out_c: float) -> float:
    """The thermal link for a cut-out: the next usual rating 15 K over it, at most the last."""
    return next((link for link in LINKS_C if link >= cut_out_c + LINK_OVER_K), LINKS_C[-1])
