"""What must hold between the values of a schedule.

`check` refuses what would spoil the chocolate, cannot run, or contradicts its own method; every
refusal names the step, the field, what was read and what would be right. Limits come from
`chocolate.types` with their sources. What is only unusual is in `unusual`.
"""

from typing import TYPE_CHECKING

from rigwire.schedule import MAX_TOTAL_S
from snapgloss.base.units import show_span, write_temperature
from snapgloss.chocolate.types import HOT_MOST_MC, ChocolateType
from snapgloss.schedules.step_rules import RuleBroken, check_steps, numbered

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile, Step

HOT_FIRST = ("cool", "rest")
REWARMED = {"rewarm": "rewarm to", "work": "work at"}


def check(schedule: "ScheduleFile") -> None:
    """Raise RuleBroken (an InputError) for the first rule the schedule breaks."""
    for rule in (_texts, _ceiling, _window, _order, _start, _method, check_steps, _total):
        rule(schedule)


def _texts(schedule: "ScheduleFile") -> None:
    for field, text in (("name", schedule.name), ("chocolate", schedule.chocolate)):
        if not text.strip():
            raise RuleBroken(0, field, "the text is empty", "write a name")
        if not text.isprintable():
            wrong = "it has a character that cannot be shown on one line"
            raise RuleBroken(0, field, wrong, "leave out line ends, tabs and joined emoji")


def _ceiling(schedule: "ScheduleFile") -> None:
    kind, hot = schedule.chocolate_type, schedule.start == "hot"
    most_mc = HOT_MOST_MC if hot else kind.hard_mc
    if schedule.ceiling_mc > most_mc:
        read = f"{write_temperature(schedule.ceiling_mc)} spoils {kind.key} chocolate"
        right = f"keep it at or below {write_temperature(most_mc)}"
        if not hot and schedule.ceiling_mc <= HOT_MOST_MC:
            right += ', or, for a bowl that is fed hot, say start = "hot"'
        raise RuleBroken(0, "ceiling", read, right)


def _window(schedule: "ScheduleFile") -> None:
    check_window(schedule.window.low_mc, schedule.window.high_mc, schedule.chocolate_type)


def check_window(low_mc: int, high_mc: int, kind: ChocolateType) -> None:
    """Raise RuleBroken for a window in the wrong order, or one that loses the temper."""
    if low_mc >= high_mc:
        raise RuleBroken(
            0,
            "window",
            f"low {write_temperature(low_mc)} is not below high {write_temperature(high_mc)}",
            "put the lower temperature in low",
        )
    if high_mc > kind.cap_mc:
        raise RuleBroken(
            0,
            "window high",
            f"{write_temperature(high_mc)} loses the temper of {kind.key} chocolate",
            f"keep it at or below {write_temperature(kind.cap_mc)}",
        )


def check_hand_window(low_mc: int, high_mc: int, work_mc: int, kind: ChocolateType) -> None:
    """Raise RuleBroken for what no batch can be judged by that has no schedule: besides the above
    a window that is too wide below, and a target outside it."""
    check_window(low_mc, high_mc, kind)
    if low_mc < kind.work_low_mc:
        read = f"{write_temperature(low_mc)} thickens {kind.key} chocolate"
        right = f"give {write_temperature(kind.work_low_mc)} or above"
        raise RuleBroken(0, "window low", read, right)
    if not low_mc <= work_mc <= high_mc:
        low, high = write_temperature(low_mc), write_temperature(high_mc)
        read = f"{write_temperature(work_mc)} is outside the window of {low} to {high}"
        raise RuleBroken(0, "work", read, "give the temperature meant for work, or the window")


def _order(schedule: "ScheduleFile") -> None:
    """Melt first of all that heats or cools; work last; nothing but work and rewarm after work."""
    last = len(schedule.steps)
    if schedule.steps[-1].kind != "work":
        read = f'the last step is "{schedule.steps[-1].kind}"'
        raise RuleBroken(last, "kind", read, 'end with a step of kind "work"')
    seen: set[str] = set()
    for step_no, step in numbered(schedule):
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
        read = f'"{kinds[0]}" cannot be the first step of a solid start'
        raise RuleBroken(1, "kind", read, 'begin with a step of kind "melt"')
    if schedule.start == "hot" and kinds[0] not in HOT_FIRST:
        read = f'"{kinds[0]}" cannot be the first step of a bowl that is fed hot'
        raise RuleBroken(1, "kind", read, 'begin with a step of kind "cool"')


def _method(schedule: "ScheduleFile") -> None:
    rule = {"seeded": _seeded, "cooled": _cooled, "kept": _kept}[schedule.method]
    rule(schedule)


def _seeded(schedule: "ScheduleFile") -> None:
    if not any(step.kind == "seed" for step in schedule.steps):
        read = "the method is seeded and no step is of kind seed"
        raise RuleBroken(0, "method", read, "add a seed step or choose another method")
    low_mc = schedule.chocolate_type.work_low_mc
    for step_no, step in numbered(schedule):
        if step.kind == "cool" and step.target_mc < low_mc:
            raise RuleBroken(
                step_no,
                "target",
                f"{write_temperature(step.target_mc)} is a low point, which the seeded method "
                "does not have",
                f"cool to {write_temperature(low_mc)} or above",
            )


def _cooled(schedule: "ScheduleFile") -> None:
    """A low point, then a rewarm that ends above it, then work."""
    _without(schedule, ("seed",))
    cools = [(n, s.target_mc) for n, s in numbered(schedule) if s.kind == "cool"]
    if not cools:
        read = "the method is cooled and no step is of kind cool"
        raise RuleBroken(0, "method", read, "add a cool step to the low point")
    low_no, low_mc = min(cools, key=lambda cool: cool[1])
    if not any(step.kind == "rewarm" for step in schedule.steps[low_no:]):
        read = "no rewarm comes after the low point"
        raise RuleBroken(low_no, "kind", read, "add a rewarm step between it and work")
    for step_no, step in list(numbered(schedule))[low_no:]:
        if step.kind in REWARMED and low_mc >= step.target_mc:
            raise _not_above(schedule.chocolate_type, low_no, low_mc, step_no, step)


def _not_above(
    kind: ChocolateType, low_no: int, low_mc: int, step_no: int, step: "Step"
) -> RuleBroken:
    """Blame the later step when it lies below the usual working range, else the low point."""
    low, target = write_temperature(low_mc), write_temperature(step.target_mc)
    if step.target_mc < kind.work.low_mc:
        read = f"the {step.kind} target {target} is not above the low point {low}"
        usual = f"{write_temperature(kind.work.low_mc)} to {write_temperature(kind.work.high_mc)}"
        return RuleBroken(step_no, "target", read, f"{REWARMED[step.kind]} about {usual}")
    read = f"the low point {low} is not below the {step.kind} target {target}"
    right = f"cool to about {write_temperature(kind.cool.default_mc)}"
    return RuleBroken(low_no, "target", read, right)


def _kept(schedule: "ScheduleFile") -> None:
    _without(schedule, ("melt", "seed", "cool"))


def _without(schedule: "ScheduleFile", kinds: tuple[str, ...]) -> None:
    for step_no, step in numbered(schedule):
        if step.kind in kinds:
            read = f'"{step.kind}" has no place in the method "{schedule.method}"'
            raise RuleBroken(step_no, "kind", read, "leave the step out or change the method")


def _total(schedule: "ScheduleFile") -> None:
    total_s = sum(step.hold_s + step.wait_s for step in schedule.steps)
    if total_s > MAX_TOTAL_S:
        read = f"holds and waits are {show_span(total_s)} together"
        raise RuleBroken(0, "steps", read, f"keep them within {show_span(MAX_TOTAL_S)}")
