"""What a schedule may say, and a maker should look at twice.

Figures that stand here are common practice, no source.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from snapgloss.base.units import f_from_c, write_rate, write_temperature
from snapgloss.chocolate.types import MELT_LEAST_MC, Band
from snapgloss.schedules.step_rules import numbered

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile

LAST_COOL_MOST_MC_PER_MIN = 500
SEED_USUAL_SHARE = 0.10


def warnings(schedule: "ScheduleFile", fahrenheit: bool = False) -> list[str]:
    """Return one sentence for each thing that is allowed but unusual; empty for a usual one."""
    return [
        *_unusual_targets(schedule, fahrenheit),
        *_unusual_work(schedule, fahrenheit),
        *_unusual_seed(schedule),
        *_unusual_start(schedule, fahrenheit),
    ]


def _at(mc: int, fahrenheit: bool) -> str:
    """As it stands in the file, or that in °F: exact, so that no limit seems kept."""
    return f"{round(f_from_c(mc / 1000), 2):g} °F" if fahrenheit else write_temperature(mc)


def _rate(mc_per_min: int, fahrenheit: bool) -> str:
    return f"{mc_per_min * 1.8e-3:g} °F/min" if fahrenheit else write_rate(mc_per_min)


def _unusual_targets(schedule: "ScheduleFile", fahrenheit: bool) -> Iterator[str]:
    kind = schedule.chocolate_type
    seed = Band(kind.seed_low_mc, kind.seed_at_mc, kind.seed_high_mc)
    bands = {"melt": kind.melt, "work": kind.work, "seed": seed}
    if schedule.method == "cooled":
        lowest = min(s.target_mc for s in schedule.steps if s.kind == "cool")
    for step_no, step in numbered(schedule):
        band = bands.get(step.kind)
        if schedule.method == "cooled" and step.kind == "cool" and step.target_mc == lowest:
            band = kind.cool
            if step.rate_mc_per_min > LAST_COOL_MOST_MC_PER_MIN:
                yield (
                    f"Step {step_no} cools to the low point at up to "
                    f"{_rate(step.rate_mc_per_min, fahrenheit)}; above "
                    f"{_rate(LAST_COOL_MOST_MC_PER_MIN, fahrenheit)} the wall may set."
                )
        if band and not band.low_mc <= step.target_mc <= band.high_mc:
            yield (
                f"Step {step_no} ({step.kind}) at {_at(step.target_mc, fahrenheit)} is outside "
                f"the usual {_at(band.low_mc, fahrenheit)} to "
                f"{_at(band.high_mc, fahrenheit)} of {kind.key} chocolate."
            )


def _unusual_work(schedule: "ScheduleFile", fahrenheit: bool) -> Iterator[str]:
    window = schedule.window
    for step_no, step in numbered(schedule):
        if step.kind == "work" and not window.low_mc <= step.target_mc <= window.high_mc:
            yield (
                f"Step {step_no} works at {_at(step.target_mc, fahrenheit)}, outside the "
                f"schedule's own window."
            )


def _unusual_seed(schedule: "ScheduleFile") -> Iterator[str]:
    if schedule.seed_g > schedule.mass_g * SEED_USUAL_SHARE:
        yield (
            f"{schedule.seed_g} g of seed is more than 10 % of the bowl; it will cool it well "
            "below the seeding temperature."
        )


def _unusual_start(schedule: "ScheduleFile", fahrenheit: bool) -> Iterator[str]:
    kind, hottest_mc = schedule.chocolate_type, max(step.target_mc for step in schedule.steps)
    if schedule.start == "liquid" and hottest_mc < MELT_LEAST_MC:
        yield (
            f"No step reaches {_at(MELT_LEAST_MC, fahrenheit)}: old crystals may still be in "
            "the bowl."
        )
    if schedule.start == "hot" and schedule.ceiling_mc > kind.hard_mc:
        yield (
            f"The bowl may be fed at up to {_at(schedule.ceiling_mc, fahrenheit)}, hotter than "
            f"the {_at(kind.hard_mc, fahrenheit)} that {kind.key} chocolate bears for long: "
            "start it at once."
        )
