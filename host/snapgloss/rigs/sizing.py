"""A rig from what it shall do: mass, room, minutes; each figure with its formula and source.

Unsafe or impossible combinations are refused with what would work, never rounded into a rig.
"""

from typing import NamedTuple

from rigfw.limits import FREE_W
from snapgloss.base.errors import InputError
from snapgloss.rigs import reaction
from snapgloss.rigs import sizing_figures as figures
from snapgloss.rigs import sizing_heat as heat
from snapgloss.rigs.reaction import Race
from snapgloss.rigs.sizing_cutout import CutOut, from_run
from snapgloss.rigs.sizing_wanted import Figure, Wanted, within

HEATERS_W = (40, 50, 60, 75, 100, 120, 150, 180)
"""Usual mats at 24 V (common practice). Above the last this guide has no low-voltage rig."""


class Sizing(NamedTuple):
    """All figures of a rig, the races of its hazards, and cautions in sentences."""

    heater_w: int
    figures: list[Figure]
    races: list[Race]
    cautions: list[str]


def size(wanted: Wanted) -> Sizing:
    """Size a low-voltage rig. Raises InputError for what would be unsafe or cannot be done."""
    heater_w = _heater(wanted)
    held = heat.held_j_per_k(wanted.smallest_kg)
    _refuse_too_strong(wanted, heater_w, held)
    found = [
        *figures.heat_figures(wanted, heater_w),
        *(
            figures.fan_figures(wanted)
            if wanted.coolant_c is None
            else figures.pump_figures(wanted)
        ),
        *figures.wire_figures(wanted, heater_w),
        *figures.switch_figures(heater_w),
        *figures.first_figures(wanted, heater_w),
        *figures.probe_figures(),
        *figures.stirrer_figures(wanted, heater_w),
        *figures.time_figures(wanted, heater_w, held),
    ]
    races = reaction.races(held, heater_w, wanted.has_sense)
    return Sizing(heater_w, found, races, _cautions(wanted, heater_w, races))


def _heater(wanted: Wanted) -> int:
    needed_w = heat.heater_needed_w(wanted.mass_kg, wanted.room_c, wanted.melt_s)
    if wanted.heater_w is None:
        for heater_w in HEATERS_W:
            if heater_w >= needed_w and figures.cut_out_fits(wanted, heater_w):
                return heater_w
        raise InputError(
            f"{wanted.mass_kg:g} kg in {wanted.melt_s / 60:.0f} min needs {needed_w:.0f} W; this "
            f"guide's low-voltage rigs end at {HEATERS_W[-1]} W.",
            "Give it longer, or take less chocolate. More heat is a mains rig: a licensed "
            "electrician's work.",
        )
    within("heater", wanted.heater_w, HEATERS_W[0], HEATERS_W[-1], "W")
    if wanted.heater_w < needed_w:
        raise InputError(
            f"A heater of {wanted.heater_w} W does not melt {wanted.mass_kg:g} kg in "
            f"{wanted.melt_s / 60:.0f} min: that needs {needed_w:.0f} W.",
            "Give it longer, or take less chocolate.",
        )
    return wanted.heater_w


def _refuse_too_strong(wanted: Wanted, heater_w: int, held_j_per_k: float) -> None:
    if heater_w > FREE_W and not wanted.has_sense:
        raise InputError(
            f"A heater of {heater_w} W needs the sense of its node: the firmware locks without.",
            f"Wire HEATER_SENSE, or stay at {FREE_W} W.",
        )
    seconds = reaction.reaction_s(reaction.ALLOWED_K, held_j_per_k, heater_w)
    if seconds < reaction.LEAST_S:
        least_kg = reaction.least_mass_kg(heater_w)
        raise InputError(
            f"{heater_w} W under {wanted.smallest_kg:g} kg warm it by {reaction.ALLOWED_K:g} °C "
            f"in {seconds:.0f} s; what watches needs {reaction.LEAST_S:.0f} s.",
            f"Never heat less than {least_kg:.2f} kg on this heater, or take a weaker one.",
        )


def _cautions(wanted: Wanted, heater_w: int, races: list[Race]) -> list[str]:
    total_w = figures.total_w(heater_w)
    found = []
    if total_w > figures.SMALL_SUPPLY_W:
        found.append(
            f"All loads together take about {total_w:.0f} W: more than a supply of 4 A, "
            f"{figures.SMALL_SUPPLY_W:.0f} W, which limits itself. Build it as the larger rig: "
            "there the main fuse must open."
        )
    if not figures.cut_out_fits(wanted, heater_w):
        found.append(
            "By reckoning no cut-out lies between the plate of a batch and that of a stuck "
            "heater. Only the stuck-on run can tell; be ready to take a stronger heater."
        )
    if not all(race.is_in_time for race in races):
        found.append(
            "Some faults are found too late for the temper (below). The cut-out answers for "
            "them: choose it from a stuck-on run before the first batch."
        )
    if not wanted.has_sense:
        found.append("Without the sense of its node a shorted switch is found by its heat alone.")
    return found


def cut_out(wanted: Wanted, normal_c: float, run_w: float, level_c: float) -> CutOut:
    """The cut-out from a stuck-on run of `run_w` whose plate levelled out at `level_c`.

    `normal_c` is the hottest plate of a usual batch. The run is taken up to the whole heater.
    Raises InputError when no cut-out fits.
    """
    within("hottest plate", normal_c, wanted.room_c, 80, "°C")
    heater_w = _heater(wanted)
    within("run", run_w, 5, heater_w, "W")
    within("level of the plate", level_c, wanted.room_c, 150, "°C")
    return from_run(normal_c, level_c, wanted.room_c, run_w, heater_w)
