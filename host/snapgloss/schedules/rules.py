"""What must hold between the values of a schedule, and what is only unusual.

`check` refuses what would spoil the chocolate, cannot run, or contradicts its own method; every
refusal names the step, the field, what was read and what would be right. `warnings` lists what a
maker may well mean but should look at twice. Limits come from `chocolate.types` with their
sources; where a figure stands here it is common practice, no source, unless it says otherwise.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rigwire.schedule import MAX_TOTAL_S
from snapgloss.base.errors import InputError
from snapgloss.base.units import show_span, write_rate, write_temperature
from snapgloss.chocolate.types import MELT_LEAST_MC, Band

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile, Step

REWARM_MOST_MC_PER_MIN = 1000
LAST_COOL_MOST_MC_PER_MIN = 500
SEED_MOST_SHARE = 1 / 3  # 20-30 % of the melted mass goes in by portions at most
SEED_USUAL_SHARE = 0.10


class RuleBroken(InputError):
    """A rule between values is broken; `step_no` counts from 1, 0 = the schedule as a whole."""

    def __init__(self, step_no: int, field: str, read: str, right: str) -> None:
        self.step_no, self.field, self.read, self.right = step_no, field, read, right
        super().__init__(f"{place(step_no, field)}: {read}; {right}.")


def place(step_no: int, field: str) -> str:
    """Return "step 3, target", or only the field for the schedule as a whole."""
    return f"step {step_no}, {field}" if step_no else field


def check(schedule: "ScheduleFile") -> None:
    """Raise RuleBroken (an InputError) for the first rule the schedule breaks."""
    for rule in (_texts, _ceiling, _window, _order, _start, _method, _steps, _total):
        rule(schedule)


def warnings(schedule: "ScheduleFile") -> list[str]:
    """Return one sentence for each thing that is allowed but unusual; empty for a usual one."""
    return [*_unusual_targets(schedule), *_unusual_work(schedule), *_unusual_seed(schedule)]


def _numbered(schedule: "ScheduleFile") -> "Iterator[tuple[int, Step]]":
    return enumerate(schedule.steps, 1)


def _texts(schedule: "ScheduleFile") -> None:
    for field, text in (("name", schedule.name), ("chocolate", schedule.chocolate)):
        if not text.isprintable() or not text.strip():
            raise RuleBroken(0, field, "the text is not printable", "write a name on one line")


def _ceiling(schedule: "ScheduleFile") -> None:
    kind = schedule.chocolate_type
    if schedule.ceiling_mc > kind.hard_mc:
        raise RuleBroken(
            0,
            "ceiling",
            f"{write_temperature(schedule.ceiling_mc)} spoils {kind.key} chocolate",
            f"keep it at or below {write_temperature(kind.hard_mc)}",
        )


def _window(schedule: "ScheduleFile") -> None:
    window, kind = schedule.window, schedule.chocolate_type
    if window.low_mc >= window.high_mc:
        raise RuleBroken(
            0,
            "window",
            f"low {write_temperature(window.low_mc)} is not below "
            f"high {write_temperature(window.high_mc)}",
            "put the lower temperature in low",
        )
    if window.high_mc > kind.cap_mc:
        raise RuleBroken(
            0,
            "window high",
            f"{write_temperature(window.high_mc)} loses the temper of {kind.key} chocolate",
            f"keep it at or below {write_temperature(kind.cap_mc)}",
        )


def _order(schedule: "ScheduleFile") -> None:
    """Melt first of all that heats or cools; work last; nothing but work and rewarm after work."""
    last = len(schedule.steps)
    if schedule.steps[-1].kind != "work":
        read = f'the last step is "{schedule.steps[-1].kind}"'
        raise RuleBroken(last, "kind", read, 'end with a step of kind "work"')
    seen: set[str] = set()
    for step_no, step in _numbered(schedule):
        if step.kind == "melt" and seen - {"melt", "rest"}:
            raise RuleBroken(step_no, "kind", '"melt" comes too late', "put melt first")
        if step.kind not in ("work", "rewarm") and "work" in seen:
            read = f'"{step.kind}" comes after work'
            raise RuleBroken(step_no, "kind", read, "put it before the first work step")
        seen.add(step.kind)


def _start(schedule: "ScheduleFile") -> None:
    kinds = [step.kind for step in schedule.steps]
    in_temper = schedule.start == "in_temper"
    if in_temper != (schedule.method == "kept"):
        raise RuleBroken(
            0,
            "start",
            f'"{schedule.start}" does not go with the method "{schedule.method}"',
            'chocolate still in temper is "in_temper" and "kept", both or neither',
        )
    if schedule.start == "solid" and kinds[0] != "melt":
        read = f'a solid start begins with "{kinds[0]}"'
        raise RuleBroken(1, "kind", read, 'begin with a step of kind "melt"')


def _method(schedule: "ScheduleFile") -> None:
    rule = {"seeded": _seeded, "cooled": _cooled, "kept": _kept}[schedule.method]
    rule(schedule)


def _seeded(schedule: "ScheduleFile") -> None:
    if not any(step.kind == "seed" for step in schedule.steps):
        read = "the method is seeded and no step is of kind seed"
        raise RuleBroken(0, "method", read, "add a seed step or choose another method")
    low_mc = schedule.chocolate_type.work_low_mc
    for step_no, step in _numbered(schedule):
        if step.kind == "cool" and step.target_mc < low_mc:
            raise RuleBroken(
                step_no,
                "target",
                f"{write_temperature(step.target_mc)} is a low point, which the seeded method "
                "does not have",
                f"cool to {write_temperature(low_mc)} or above",
            )


def _cooled(schedule: "ScheduleFile") -> None:
    _without(schedule, ("seed",))
    first_work = next(s.target_mc for s in schedule.steps if s.kind == "work")
    cools = [(n, s.target_mc) for n, s in _numbered(schedule) if s.kind == "cool"]
    if not cools:
        read = "the method is cooled and no step is of kind cool"
        raise RuleBroken(0, "method", read, "add a cool step to the low point")
    step_no, low_mc = min(cools, key=lambda cool: cool[1])
    if low_mc >= first_work:
        raise RuleBroken(
            step_no,
            "target",
            f"the low point {write_temperature(low_mc)} is not below the work target "
            f"{write_temperature(first_work)}",
            f"cool to about {write_temperature(schedule.chocolate_type.cool.default_mc)}",
        )


def _kept(schedule: "ScheduleFile") -> None:
    _without(schedule, ("melt", "seed", "cool"))


def _without(schedule: "ScheduleFile", kinds: tuple[str, ...]) -> None:
    for step_no, step in _numbered(schedule):
        if step.kind in kinds:
            read = f'"{step.kind}" has no place in the method "{schedule.method}"'
            raise RuleBroken(step_no, "kind", read, "leave the step out or change the method")


def _steps(schedule: "ScheduleFile") -> None:
    crystals = schedule.method == "kept"
    for step_no, step in _numbered(schedule):
        crystals = crystals or step.kind in ("seed", "rewarm", "work")
        for rule in (_target, _rate, _additions):
            rule(schedule, step_no, step)
        _wall(schedule, step_no, step, crystals)


def _target(schedule: "ScheduleFile", step_no: int, step: "Step") -> None:
    kind = schedule.chocolate_type
    top_mc, why = {
        "seed": (kind.seed_high_mc, "melts the seed"),
        "rewarm": (kind.cap_mc, f"loses the temper of {kind.key} chocolate"),
        "work": (kind.cap_mc, f"loses the temper of {kind.key} chocolate"),
    }.get(step.kind, (schedule.ceiling_mc, "is above the schedule's ceiling"))
    if step.target_mc > min(top_mc, schedule.ceiling_mc):
        right = f"keep it at or below {write_temperature(min(top_mc, schedule.ceiling_mc))}"
        raise RuleBroken(step_no, "target", f"{write_temperature(step.target_mc)} {why}", right)
    if step.kind == "melt" and step.target_mc < MELT_LEAST_MC:
        read = f"{write_temperature(step.target_mc)} does not melt out all old crystals"
        right = f"melt at {write_temperature(MELT_LEAST_MC)} or above"
        raise RuleBroken(step_no, "target", read, right)
    if step.kind == "work" and step.target_mc < kind.work_low_mc:
        read = f"{write_temperature(step.target_mc)} thickens {kind.key} chocolate"
        right = f"work at {write_temperature(kind.work_low_mc)} or above"
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


def _wall(schedule: "ScheduleFile", step_no: int, step: "Step", crystals: bool) -> None:
    kind = schedule.chocolate_type
    if step.wall_mc < step.target_mc:
        read = f"{write_temperature(step.wall_mc)} is below the step's target"
        right = f"give at least {write_temperature(step.target_mc)}"
        raise RuleBroken(step_no, "wall", read, right)
    most_mc = kind.wall_mc if crystals else kind.plate_mc
    if step.wall_mc > most_mc:
        why = "melts the seed at the wall" if crystals else f"scorches {kind.key} chocolate"
        right = f"keep it at or below {write_temperature(most_mc)}"
        raise RuleBroken(step_no, "wall", f"{write_temperature(step.wall_mc)} {why}", right)


def _total(schedule: "ScheduleFile") -> None:
    total_s = sum(step.hold_s + step.wait_s for step in schedule.steps)
    if total_s > MAX_TOTAL_S:
        read = f"holds and waits are {show_span(total_s)} together"
        raise RuleBroken(0, "steps", read, f"keep them within {show_span(MAX_TOTAL_S)}")


def _unusual_targets(schedule: "ScheduleFile") -> Iterator[str]:
    kind = schedule.chocolate_type
    seed = Band(kind.seed_low_mc, kind.seed_at_mc, kind.seed_high_mc)
    bands = {"melt": kind.melt, "work": kind.work, "seed": seed}
    if schedule.method == "cooled":
        lowest = min(s.target_mc for s in schedule.steps if s.kind == "cool")
    for step_no, step in _numbered(schedule):
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
    for step_no, step in _numbered(schedule):
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
