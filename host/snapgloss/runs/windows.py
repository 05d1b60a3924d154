"""The window of a chocolate by its graded batches in the record, and the next schedule."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_span, show_temperature
from snapgloss.quality.charts import Count
from snapgloss.quality.window import (
    LEAST,
    Between,
    Place,
    Tried,
    WindowMap,
    at_usual_dwell,
    for_dwell,
    window_map,
)
from snapgloss.quality.window_next import Aim, Safe, Suggested, safe_ranges, suggest, usual_place
from snapgloss.runs.grading import GradedRun, graded_runs
from snapgloss.schedules import files
from snapgloss.schedules.moving import low_step, moved

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile
    from snapgloss.store.store import Store

AFTER_THE_BOWL = ("cooling", "store")
"""Bad bars that point there say nothing of the bowl."""
POINTS = {"cooled": "low point", "seeded": "seeding point"}


@dataclass(frozen=True)
class Windowed:
    """The window of one chocolate on one rig by one method.

    `schedule` is the newest of its batches with the suggested points; its low point is for its own
    dwell. `after_bowl`: bad batches that were left out, as cooling or store is to blame.
    `unread`: graded batches without a schedule, or with a clock that may have jumped. `others`:
    graded batches of this chocolate on another rig, by another method, or simulated.
    """

    chocolate: str
    rig: str
    simulated: bool
    method: str
    found: WindowMap
    safe: Safe
    suggested: Suggested
    schedule: "ScheduleFile"
    dwell_s: int | None
    after_bowl: int
    unread: int
    others: int

    @property
    def low_mc(self) -> int:
        """The suggested low or seeding point, for the schedule's own dwell."""
        return self.schedule.steps[low_step(self.schedule) - 1].target_mc

    @property
    def point(self) -> str:
        """ "low point" or "seeding point"."""
        return POINTS[self.method]


def windowed(
    store: "Store", chocolate: str, rig: str | None = None, aim: Aim = "good"
) -> Windowed:
    """Work out the window of the newest graded batch's kind: its rig, method, real or simulated.

    Raises InputError when no batch of this chocolate was graded, or it can have no window.
    """
    graded = _graded(store, chocolate.strip(), rig)
    of_kind = [one for one in graded if _kind(one) == _kind(graded[-1])]
    bowl = [one for one in of_kind if one.points_to not in AFTER_THE_BOWL]
    newest = graded[-1]
    schedule = _schedule(store, newest.run)
    if schedule is None:
        raise InputError(
            f"Run {newest.run} has no schedule that can be read.", "Grade a batch that has one."
        )
    kind, safe = schedule.chocolate_type, safe_ranges(schedule.chocolate_type, newest.method)
    unsure = store.unsure_clocks()
    read = [_tried(store, one) for one in bowl if one.run not in unsure]
    tried = [one for one in read if one is not None]
    found = window_map(usual_place(kind, newest.method), tried)
    next_one = suggest(found, safe, aim)
    after, dwell_s = _next(schedule, next_one.place, safe)
    place = Place(
        at_usual_dwell(after.steps[low_step(after) - 1].target_mc / 1000, dwell_s),
        next_one.place.work_c,
    )
    return Windowed(
        newest.chocolate, newest.rig, newest.simulated, newest.method, found, safe,
        Suggested(place, found.right_at(place), aim), after, dwell_s,
        len(of_kind) - len(bowl), len(bowl) - len(tried), len(graded) - len(of_kind),
    )  # fmt: skip


def _graded(store: "Store", chocolate: str, rig: str | None) -> list[GradedRun]:
    name = chocolate.casefold()
    graded = [
        one
        for one in graded_runs(store)
        if one.chocolate.casefold() == name and rig in (None, one.rig)
    ]
    if not graded:
        raise InputError(
            f"No batch of {chocolate[:60]}{f' on {rig[:60]}' if rig else ''} was graded.",
            "Grade its bars: snapgloss grade N sell. Names are those of snapgloss runs.",
        )
    return graded


def _kind(one: GradedRun) -> tuple[str, str, bool]:
    return one.rig, one.method, one.simulated


def _schedule(store: "Store", run_id: int) -> "ScheduleFile | None":
    try:
        return files.from_text(store.run(run_id).schedule_toml)
    except InputError:  # a log without one, or written by another version
        return None


def _tried(store: "Store", one: GradedRun) -> Tried | None:
    """The batch as it went where that was recorded, else as it was planned."""
    schedule = _schedule(store, one.run)
    number = 0 if schedule is None else low_step(schedule)
    if schedule is None or not number:
        return None
    step, figures = schedule.steps[number - 1], store.figures(one.run)
    low_c, dwell_s = step.target_mc / 1000, None
    if one.method == "cooled":
        lowest_c = figures.get("lowest_c")
        low_c = low_c if lowest_c is None else lowest_c
        reached_s = figures.get(f"step_{number}_reached_s")
        ended_s = figures.get(f"step_{number}_ended_s")
        dwell_s = float(step.hold_s)
        if reached_s is not None and ended_s is not None:
            dwell_s = ended_s - reached_s
    return Tried(one.run, low_c, schedule.work_mc / 1000, dwell_s, one.grade == "sell")


def _next(schedule: "ScheduleFile", place: Place, safe: Safe) -> "tuple[ScheduleFile, int | None]":
    """The schedule with these points, its low one for its own dwell and never outside what is
    safe."""
    hold_s = schedule.steps[low_step(schedule) - 1].hold_s
    dwell_s = hold_s if schedule.method == "cooled" else None
    low_mc = round(for_dwell(place.low_c, dwell_s) * 10) * 100
    low_mc = min(max(low_mc, safe.low_least_mc), safe.low_most_mc)
    return moved(schedule, low_mc, round(place.work_c * 1000)), dwell_s


def window_lines(one: Windowed, fahrenheit: bool = False) -> list[str]:
    """All of it in sentences."""
    found = one.found
    good = sum(batch.good for batch in found.tried)
    simulated = ", simulated" if one.simulated else ""
    lines = [
        f"{one.chocolate} on {one.rig}, {one.method}{simulated}: {good} of {len(found.tried)} "
        "graded batches came out right."
    ]
    lows, works = found.counts()
    lines += [_count_words(count, f"{one.point}", fahrenheit) for count in lows]
    lines += [_count_words(count, "work", fahrenheit) for count in works]
    lines += left_out_lines(one)
    lines.append(_middle_words(one, fahrenheit) if found.is_enough else few_words(found))
    return [*lines, next_words(one, fahrenheit)]


def few_words(found: WindowMap) -> str:
    """Why there is no map."""
    count = len(found.tried)
    batches = "1 batch is" if count == 1 else f"{count} batches are"
    return f"{batches} not enough for a map: {LEAST} are needed."


def left_out_lines(one: Windowed) -> list[str]:
    """What was not counted, and why."""
    said = (
        (one.after_bowl, "left out: good in the bowl, spoilt by cooling or store."),
        (one.unread, "left out: without a schedule, or with a clock that may have jumped."),
        (one.others, "of this chocolate are of another rig or method, or simulated."),
    )
    return [f"{count} {words}" for count, words in said if count]


def next_words(one: Windowed, fahrenheit: bool = False) -> str:
    """The schedule to make next, and how sure it is."""
    low, work = (show_temperature(mc, fahrenheit) for mc in (one.low_mc, one.schedule.work_mc))
    dwell = f" for {show_span(one.dwell_s)}" if one.dwell_s is not None else ""
    begin = "To learn most" if one.suggested.aim == "learn" else "Next"
    said = f"{begin}: {one.point} {low}{dwell}, work at {work}."
    if not one.found.is_enough:
        return f"{said} It is a step to try."
    usual = one.found.right_at(one.found.usual)
    return (
        f"{said} By the map about {_of_100(one.suggested.right)} of 100 such batches come out "
        f"right, of the usual schedule {_of_100(usual)}."
    )


def _of_100(share: float) -> str:
    """Never none and never all: a map is no certainty."""
    return f"{min(99, max(1, round(100 * share)))}"


def _count_words(count: Count, axis: str, fahrenheit: bool) -> str:
    at = show_temperature(round(count.at * 1000), fahrenheit)
    return (
        f"{count.good} of {count.of} right with {axis} at about {at} "
        f"({count.low:.0f} to {count.high:.0f} of 100 may be so)."
    )


def _middle_words(one: Windowed, fahrenheit: bool) -> str:
    """In 90 of 100 windows that fit the grades the middle lies between these."""
    parts = [
        f"{axis} about {_shown(b.about_c, fahrenheit)} ({_shown(b.low_c, fahrenheit)} to "
        f"{_shown(b.high_c, fahrenheit)})"
        for axis, b in zip((one.point, "work"), one.found.middles(), strict=True)
    ]
    dwell = " at 5 min" if one.dwell_s is not None else ""
    return f"The middle of the window{dwell}: {', '.join(parts)}."


def _shown(celsius: float, fahrenheit: bool) -> str:
    return show_temperature(round(celsius * 1000), fahrenheit)


def window_data(one: Windowed) -> dict[str, Any]:
    """The same for a program, degC; probabilities are null below the least number of batches."""
    found, enough = one.found, one.found.is_enough
    low, work = found.middles()
    lows, works = found.counts()
    return {
        "chocolate": one.chocolate, "rig": one.rig, "method": one.method,
        "simulated": one.simulated, "enough": enough, "needed": LEAST,
        "batches": [
            {**batch._asdict(), "low_at_usual_dwell_c": round(batch.place.low_c, 3)}
            for batch in found.tried
        ],
        "counts": {"low": _counts(lows), "work": _counts(works)},
        "middle": {"low": _data(low), "work": _data(work)} if enough else None,
        "next": {
            "aim": one.suggested.aim, "low_c": one.low_mc / 1000, "dwell_s": one.dwell_s,
            "work_c": one.schedule.work_mc / 1000,
            "right": round(one.suggested.right, 3) if enough else None,
        },
        "usual_right": round(found.right_at(found.usual), 3) if enough else None,
        "left_out": {"after_bowl": one.after_bowl, "unread": one.unread, "others": one.others},
    }  # fmt: skip


def _counts(counts: Sequence[Count]) -> list[dict[str, float]]:
    return [dict(count._asdict()) for count in counts]


def _data(between: Between) -> dict[str, float]:
    return {name: round(value, 2) for name, value in between._asdict().items()}
