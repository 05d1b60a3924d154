"""From what the maker chooses to a batch made ready: schedule, forecast, clock, warnings.

All of it can be pickled: a page has it worked out in a process of its own.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from snapgloss.base.clock_times import DAY_MIN, show_time
from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.chocolate.moulds import MouldPlan, plan_moulds
from snapgloss.runs import words
from snapgloss.runs.live.staged import Staged, staged_of
from snapgloss.schedules.model import Method, StartState
from snapgloss.schedules.planning import Plan, plan, wish_of

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.outlook import Outlook, StepOutlook
    from snapgloss.schedules.pouring import PourClock

AS_SOON_AS_READY = -1
AT_ONCE = "0 min"


@dataclass(frozen=True)
class Choice:
    """What is chosen. `bars` 0: by mass alone, else the mass follows from the bars.

    `method` None leaves it to the start state. `pour_at_min` in minutes of the day, or
    AS_SOON_AS_READY. `pace_s` seconds to fill, tap and scrape one mould.
    """

    chocolate: ChocolateDescription
    mass_g: int
    method: Method | None = None
    start: StartState = "solid"
    old: bool = False
    bars: int = 0
    each_g: int = 60
    cavities: int = 8
    pace_s: int = 75
    pour_at_min: int = AS_SOON_AS_READY

    @property
    def moulds(self) -> MouldPlan | None:
        """What so many bars take; None by mass. Raises InputError for what cannot be poured."""
        return plan_moulds(self.bars, self.each_g, self.cavities) if self.bars else None

    @property
    def batch_g(self) -> int:
        """Grams in the bowl."""
        moulds = self.moulds
        return self.mass_g if moulds is None else moulds.batch_g


@dataclass(frozen=True)
class StepTold:
    """One step: what it does, how long by nine in ten such batches, and why it is there.

    `spent` is empty where the chocolate is there already."""

    words: str
    spent: str
    why: str


@dataclass(frozen=True)
class Prepared:
    """A batch that can be staged, and all that is said of it before it begins.

    `moments` are times of the day with what is to be done then; the rest are sentences.
    """

    staged: Staged
    steps: tuple[StepTold, ...]
    total_min: int
    mass_g: int
    seed_g: int
    moulds: int
    good_min: int
    moments: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    limits: tuple[str, ...]


def prepare(
    choice: Choice, rig: "RigDescription", room_c: float, now_min: int, workshop: str = ""
) -> Prepared:
    """Work out a batch in a room of `room_c` degC; `now_min` is the minute of this day.

    Raises InputError when it cannot be done; its remedy says what would work. Takes a second.
    """
    from snapgloss.schedules.forecast import room_doubt
    from snapgloss.schedules.outlook import outlook_on
    from snapgloss.schedules.unusual import warnings

    found = plan(
        wish_of(choice.chocolate, choice.batch_g, method=choice.method, start=choice.start,
                old=choice.old),
        rig, room_c,
    )  # fmt: skip
    ahead = outlook_on(found.schedule, rig, room_c, found.wish.chocolate)
    moments, odd, good_min = _clock(choice, found, now_min)
    moulds = choice.moulds.moulds if choice.moulds else 0
    staged = staged_of(found.schedule, rig, room_c, workshop, moulds=moulds, spread=ahead.spread)
    doubt = room_doubt(found.schedule, rig, room_c)
    said = (*warnings(found.schedule), *([doubt] if doubt else []), *ahead.warnings, *odd)
    return Prepared(
        staged=replace(staged, good_min=good_min),
        steps=tuple(_steps(found, ahead)),
        total_min=round(ahead.total_min),
        mass_g=choice.batch_g,
        seed_g=found.seeding.seed_g if found.seeding else 0,
        moulds=moulds,
        good_min=round(good_min),
        moments=tuple(moments),
        warnings=tuple(dict.fromkeys(said)),
        limits=_limits(found),
    )


def _steps(found: Plan, ahead: "Outlook") -> list[StepTold]:
    from snapgloss.schedules.reasons import reasons
    from snapgloss.schedules.wire import to_wire

    _, *why = reasons(found)
    rows = zip(to_wire(found.schedule).steps, ahead.steps, why, strict=True)
    return [StepTold(words.doing(step), spent(row), reason) for step, row, reason in rows]


def spent(row: "StepOutlook") -> str:
    """The same; empty where the chocolate is there already."""
    told = from_to(row)
    return "" if told == AT_ONCE else told


def from_to(row: "StepOutlook") -> str:
    """Return "52 to 68 min": what nine in ten batches take for a step, its hold included."""
    low, high = row.reach_min.low + row.hold_min, row.reach_min.high + row.hold_min
    if round(low) == round(high):
        return f"{low:.0f} min"
    return f"{low:.0f} to {high:.0f} min"


def _limits(found: Plan) -> tuple[str, ...]:
    from snapgloss.schedules.reasons import limits, reasons

    return (reasons(found)[0], *limits(found))


def _clock(
    choice: Choice, found: Plan, now_min: int
) -> tuple[list[tuple[str, str]], list[str], float]:
    """Moments of the day, what is unusual about them, and minutes that pouring stays good."""
    from snapgloss.schedules.pouring import good_minutes
    from snapgloss.schedules.reasons import aside

    if choice.moulds is None:
        begin_min = now_min
        if choice.pour_at_min != AS_SOON_AS_READY:
            begin_min = choice.pour_at_min - round(found.pour_at_min + _early_min(found))
        told = [(0.0, words.PRESS_START), *aside(found)]
        moments = [(show_time(begin_min + minute), said) for minute, said in told]
        return moments, late(begin_min, now_min), good_minutes(found)
    clock = _pour_clock(choice, found, choice.moulds, now_min)
    moments = [(show_time(moment.at_min), moment.words) for moment in clock.moments]
    return moments, [*clock.warnings, *late(clock.at("plug in"), now_min)], clock.good_min


def _pour_clock(choice: Choice, found: Plan, moulds: MouldPlan, now_min: int) -> "PourClock":
    from snapgloss.chocolate.setting import settle
    from snapgloss.runs.usual_bar import bar_and_cooling
    from snapgloss.schedules.pouring import pour_clock

    at_min = choice.pour_at_min
    if at_min == AS_SOON_AS_READY:
        at_min = round(now_min + found.pour_at_min + _early_min(found)) % DAY_MIN
    bar, cooling = bar_and_cooling(choice.chocolate, choice.each_g)
    return pour_clock(found, moulds, at_min, settle(bar, cooling), choice.pace_s)


def _early_min(found: Plan) -> float:
    from snapgloss.schedules.pouring import EARLY_LEAST_MIN, EARLY_SHARE

    return max(EARLY_LEAST_MIN, EARLY_SHARE * found.pour_at_min)


def late(begin_min: float, now_min: int) -> list[str]:
    """Return a sentence when the start has passed. A pour before now is one of tomorrow."""
    late_min = now_min - begin_min
    if not 1 <= late_min < DAY_MIN / 2:
        return []
    return [f"To pour then, it had to start {late_min:.0f} min ago. Pour later, or less."]
