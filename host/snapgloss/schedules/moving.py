"""A schedule with another low or seeding point and another working temperature, all else kept."""

from snapgloss.base.errors import InputError
from snapgloss.base.units import write_temperature
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.model import NAME_MOST, ScheduleFile, Step, Window


def low_step(schedule: ScheduleFile) -> int:
    """The number, from 1, of the step with the low point, or where seed goes in; 0 for a schedule
    that has neither."""
    kind = {"cooled": "cool", "seeded": "seed"}.get(schedule.method)
    found = [(step.target_mc, n) for n, step in enumerate(schedule.steps, 1) if step.kind == kind]
    return min(found, default=(0, 0))[1]


def moved(schedule: ScheduleFile, low_mc: int, work_mc: int) -> ScheduleFile:
    """Return the schedule with this low or seeding point and working temperature, milli-degC.

    A cooling before the point goes along with it, rewarm and creep along with the work, and so
    does the window, as far as the type of chocolate lets it. Raises InputError for a schedule
    without low point and seed, and for one that breaks a rule (`schedules.rules`).
    """
    number = low_step(schedule)
    if not number:
        raise InputError("This schedule has neither low point nor seed.", "Name another batch.")
    by_mc = (low_mc - schedule.steps[number - 1].target_mc, work_mc - schedule.work_mc)
    window = _window(schedule, by_mc[1])
    steps = tuple(
        _step(n, number, step, by_mc, window) for n, step in enumerate(schedule.steps, 1)
    )
    points = f"{write_temperature(low_mc)} and {write_temperature(work_mc)}"
    kept = NAME_MOST - len(points) - 1
    changed = {"name": f"{schedule.chocolate[:kept]} {points}", "window": window, "steps": steps}
    return ScheduleFile(**{**dict(schedule), **changed})


def _step(
    number: int, low_no: int, step: Step, by_mc: tuple[int, int],
    window: Window,
) -> Step:  # fmt: skip
    """One step, moved with the point it belongs to; melt and rest belong to neither."""
    low_by, work_by = by_mc
    if number > low_no or step.kind in ("rewarm", "work"):
        changed = {"target_mc": step.target_mc + work_by}
        if step.creep_to_mc is not None:
            changed["creep_to_mc"] = min(step.creep_to_mc + work_by, window.high_mc)
        return step.model_copy(update=changed)
    if step.kind in ("cool", "seed"):
        return step.model_copy(update={"target_mc": step.target_mc + low_by})
    return step


def _window(schedule: ScheduleFile, by_mc: int) -> Window:
    kind: ChocolateType = schedule.chocolate_type
    low_mc = max(schedule.window.low_mc + by_mc, min(schedule.window.low_mc, kind.work_low_mc))
    high_mc = min(schedule.window.high_mc + by_mc, kind.cap_mc)
    return Window(low_mc=low_mc, high_mc=high_mc)
