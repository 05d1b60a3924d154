"""What a schedule may say, and a maker should look at twice.

Figures that stand here are common practice, no source.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from snapgloss.base.units import write_rate, write_temperature
from snapgloss.chocolate.types import MELT_LEAST_MC, Band
from snapgloss.schedules.step_rules import numbered

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile

LAST_COOL_MOST_MC_PER_MIN = 500
SEED_USUAL_SHARE = 0.10


def warnings(schedule: "ScheduleFile") -> list[str]:
    """Return one sentence for each thing that is allowed but unusual; empty for a usual one."""
    return [
        *_unusual_targets(schedule),
        *_unusual_work(schedule),
        *_unusual_seed(schedule),
        *_unusual_start(schedule),
    ]


def _unusual_targets(schedule: "ScheduleFile") -> Iterator[str]:
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
                    f"{write_rate(step.rate_mc_per_min)}; above "
                    f"{write_rate(LAST_COOL_MOST_MC_PER_MIN)} the wall may set."
                )
        if band and not band.low_mc <= step.target_mc <= band.high_mc:
            yield (
                f"Step {step_no} ({step.kind}) at {write_temperature(step.target_mc)} is outside "
                f"the usual {write_temperature(band.low_mc)} to "
                f"{write_temperature(band.high_mc)} of {kind.key} chocolate."
            )


def _unusual_work(schedule: "ScheduleFile") -> Iterator[str]:
    window = schedule.window
    for step_no, step in numbered(schedule):
        if step.kind == "work" and not window.low_mc <= step.target_mc <= window.high_mc:
            yield (
                f"Step {step_no} works at {write_temperature(step.target_mc)}, outside the "
                f"schedule's own window."
            )


def _unusual_seed(schedule: "ScheduleFile") -> Iterator[str]:
    if schedule.seed_g > schedule.mass_g * SEED_USUAL_SHARE:
        yield (
            f"{schedule.seed_g} g of seed is more than 10 % of the bowl; it will cool it well "
            "below the seeding temperature."
        )


def _unusual_start(schedule: "ScheduleFile") -> Iterator[str]:
    kind, hottest_mc = schedule.chocolate_type, max(step.target_mc for step in schedule.steps)
    if schedule.start == "liquid" and hottest_mc < MELT_LEAST_MC:
        yield (
            f"No step reaches {write_temperature(MELT_LEAST_MC)}: old crystals may still be in "
            "the bowl."
        )
    if schedule.start == "hot" and schedule.ceiling_mc > kind.hard_mc:
        yield (
            f"The bowl may be fed at up to {write_temperature(schedule.ceiling_mc)}, hotter than "
            f"the {write_temperature(kind.hard_mc)} that {kind.key} chocolate bears for long: "
            "start it at once."
        )
