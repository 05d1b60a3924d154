"""What a single step may not say, given the chocolate and what came before it.

Limits come from `chocolate.types` with their sources; where a figure stands here it is common
practice, no source, unless it says otherwise.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.base.units import fahrenheit_doubt, show_span, write_rate, write_temperature
from snapgloss.chocolate.types import MELT_LEAST_MC

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile, Step

REWARM_MOST_MC_PER_MIN = 1000
SEED_MOST_SHARE = 1 / 3  # 20-30 % of the melted mass goes in by portions at most


class RuleBroken(InputError):
    """A rule between values is broken; `step_no` counts from 1, 0 = the schedule as a whole."""

    def __init__(self, step_no: int, field: str, read: str, right: str) -> None:
        self.step_no, self.field, self.read, self.right = step_no, field, read, right
        super().__init__(f"{place(step_no, field)}: {read}; {right}.")


def place(step_no: int, field: str) -> str:
    """Return "step 3, target", or only the field for the schedule as a whole."""
    return f"step {step_no}, {field}" if step_no else field


def numbered(schedule: "ScheduleFile") -> "Iterator[tuple[int, Step]]":
    """Yield each step with its number from 1."""
    return enumerate(schedule.steps, 1)


def check_steps(schedule: "ScheduleFile") -> None:
    """Raise RuleBroken for the first step that spoils the chocolate or contradicts itself."""
    low_no = _low_point(schedule)
    crystals, top_mc = schedule.method == "kept", schedule.working_ceiling_mc
    if crystals:
        top_mc = schedule.chocolate_type.cap_mc
    for step_no, step in numbered(schedule):
        if step.kind in ("seed", "rewarm", "work"):
            crystals, top_mc = True, _top_mc(schedule, step.kind)
        _target(schedule, step_no, step, min(top_mc, schedule.working_ceiling_mc), crystals)
        for rule in (_least, _cools, _rate, _additions, _creep):
            rule(schedule, step_no, step)
        _wall(schedule, step_no, step, crystals)
        if step_no == low_no:
            crystals, top_mc = True, schedule.chocolate_type.cap_mc


def _low_point(schedule: "ScheduleFile") -> int:
    """Return the number of the step where crystals form by cooling alone; 0 = none."""
    if schedule.method != "cooled":
        return 0
    cools = [(step.target_mc, n) for n, step in numbered(schedule) if step.kind == "cool"]
    return min(cools)[1] if cools else 0


def _top_mc(schedule: "ScheduleFile", kind: str) -> int:
    """Return the greatest target from a step of this kind on, as far as crystals decide it."""
    limits = schedule.chocolate_type
    return limits.seed_high_mc if kind == "seed" else limits.cap_mc


def _target(
    schedule: "ScheduleFile", step_no: int, step: "Step", top_mc: int, crystals: bool
) -> None:
    if step.target_mc <= top_mc:
        return
    kind = schedule.chocolate_type
    why = "is above the schedule's ceiling"
    if crystals and top_mc < schedule.ceiling_mc:
        why = f"loses the temper of {kind.key} chocolate"
    elif top_mc < schedule.ceiling_mc:
        why = f"spoils {kind.key} chocolate"
    if step.kind == "seed":
        why = "melts the seed"
    read = f"{write_temperature(step.target_mc)} {why}"
    right = f"keep it at or below {write_temperature(top_mc)}"
    raise RuleBroken(step_no, "target", read, right + fahrenheit_doubt(step.target_mc, top_mc))


def _least(schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    kind = schedule.chocolate_type
    if step.kind == "melt" and step.target_mc < MELT_LEAST_MC:
        read = f"{write_temperature(step.target_mc)} does not melt out all old crystals"
        right = f"melt at {write_temperature(MELT_LEAST_MC)} or above"
        raise RuleBroken(step_no, "target", read, right)
    if step.kind == "work" and step.target_mc < kind.work_low_mc:
        read = f"{write_temperature(step.target_mc)} thickens {kind.key} chocolate"
        right = f"work at {write_temperature(kind.work_low_mc)} or above"
        raise RuleBroken(step_no, "target", read, right)


def _cools(schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    if step.kind != "cool" or step_no == 1:
        return
    before_mc = schedule.steps[step_no - 2].target_mc
    if step.target_mc > before_mc:
        before = write_temperature(before_mc)
        read = (
            f"{write_temperature(step.target_mc)} is warmer than the {before} of the step before"
        )
        right = f'cool to {before} or below, or make it a step of kind "rewarm"'
        raise RuleBroken(step_no, "target", read, right)


def _rate(_schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    if step.kind == "rewarm" and step.rate_mc_per_min > REWARM_MOST_MC_PER_MIN:
        raise RuleBroken(
            step_no,
            "rate",
            f"{write_rate(step.rate_mc_per_min)} overshoots in a rewarm",
            f"keep it at or below {write_rate(REWARM_MOST_MC_PER_MIN)}",
        )


def _additions(schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    if step.kind == "seed" and step.seed_g == 0:
        raise RuleBroken(step_no, "seed", "a seed step without seed", 'write it like "120 g"')
    if step.kind != "seed" and step.seed_g > 0:
        raise RuleBroken(
            step_no, "seed", f'{step.seed_g} g in a step of kind "{step.kind}"', "leave it out"
        )
    if step.seed_g > schedule.mass_g * SEED_MOST_SHARE:
        most_g = int(schedule.mass_g * SEED_MOST_SHARE)
        raise RuleBroken(
            step_no, "seed", f"{step.seed_g} g is too much", f"use at most {most_g} g"
        )
    if step.wait_s > 0 and step.prompt == "none":
        read = f"the step waits {show_span(step.wait_s)} for no prompt"
        raise RuleBroken(step_no, "wait", read, "name the prompt or leave the wait out")


def _creep(schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    """Only work creeps, upwards, and not out of the window that the batch is judged by."""
    rate, to_mc, high_mc = step.creep_mc_per_h, step.creep_to_mc, schedule.window.high_mc
    if rate is None and to_mc is None:
        return
    if step.kind != "work":
        read = f'a step of kind "{step.kind}" does not creep'
        raise RuleBroken(step_no, "creep", read, "leave creep and creep_to out")
    if rate is None or to_mc is None:
        missing, example = ("creep", "0.5 C/h") if rate is None else ("creep_to", "32 C")
        raise RuleBroken(step_no, missing, "missing", f'add it, for example "{example}"')
    if not step.target_mc < to_mc <= high_mc:
        target, high = write_temperature(step.target_mc), write_temperature(high_mc)
        read = f"{write_temperature(to_mc)} is not between the target and the window's high end"
        right = f"give more than {target} and at most {high}"
        raise RuleBroken(step_no, "creep_to", read, right)


def _wall(schedule: "ScheduleFile", step_no: int, step: "Step", crystals: bool) -> None:
    kind = schedule.chocolate_type
    if step.wall_mc < step.top_mc:
        read = f"{write_temperature(step.wall_mc)} is below the step's target"
        right = f"give at least {write_temperature(step.top_mc)}"
        raise RuleBroken(step_no, "wall", read, right)
    most_mc = kind.wall_mc if crystals else kind.plate_mc
    if step.wall_mc > most_mc:
        why = "melts the seed at the wall" if crystals else f"scorches {kind.key} chocolate"
        right = f"keep it at or below {write_temperature(most_mc)}"
        raise RuleBroken(step_no, "wall", f"{write_temperature(step.wall_mc)} {why}", right)
