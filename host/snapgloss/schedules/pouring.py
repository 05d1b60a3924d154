"""The pour clock: from "48 bars at ten" back to the plug, and on to the last bar turned out.

The plan's minutes are a forecast, so the plug goes in a little early. How long the chocolate stays
pourable is an estimate of the crystal model. The rest is common practice, no source.
"""

from dataclasses import dataclass
from typing import NamedTuple

from snapgloss.base.clock_times import DAY_MIN, show_time
from snapgloss.base.errors import InputError
from snapgloss.base.units import show_difference, show_mass, show_span, show_temperature
from snapgloss.chocolate.moulds import BEST_HIGH_MC, BEST_LOW_MC, MouldPlan, show_moulds
from snapgloss.chocolate.setting import Setting
from snapgloss.chocolate.thickening import pourable_min
from snapgloss.schedules.planning import Plan

MOULD_S = 75
"""To fill, tap and scrape one mould, one person: 60 to 90 s."""
MOULD_RANGE_S = (5, 1800)
EARLY_SHARE, EARLY_LEAST_MIN = 0.1, 5.0
"""The simulated bowl took 1.1 times the forecast for the melt; more for small bowls."""
REFRIGERATOR_MC = 12_000


class Moment(NamedTuple):
    """Something to do: minutes since midnight of the pouring day, `key`, and a sentence."""

    at_min: float
    key: str
    words: str


@dataclass(frozen=True, slots=True)
class PourClock:
    """The day of a batch: `moments` in order; `pour_min` to fill all moulds, `good_min` how long
    the chocolate stays pourable; `in_time` moulds filled by then."""

    moments: list[Moment]
    pour_min: float
    good_min: float
    in_time: int
    warnings: list[str]

    def at(self, key: str) -> float:
        """Return when something is to be done, in minutes since midnight."""
        return next(moment.at_min for moment in self.moments if moment.key == key)


class Progress(NamedTuple):
    """While pouring: seconds a mould takes, minutes to the last one, minutes it stays good."""

    mould_s: float
    left_moulds: int
    to_last_min: float
    good_left_min: float
    words: str

    @property
    def in_time(self) -> bool:
        """True when the last mould is filled before the chocolate is thick."""
        return self.to_last_min <= self.good_left_min


def pour_clock(
    plan: Plan, moulds: MouldPlan, pour_at_min: int, setting: Setting,
    mould_s: int = MOULD_S, fahrenheit: bool = False, air_mc: int = REFRIGERATOR_MC,
) -> PourClock:  # fmt: skip
    """Return the clock of a batch that is poured from `pour_at_min` (0..1439) on.

    `plan` must be of at least the moulds' batch mass; `setting` of one bar in its mould, in air
    of `air_mc`. Raises InputError for a time, a pace or a mass that cannot be.
    """
    _check(plan, moulds, pour_at_min, mould_s)
    pour_min, good_min = moulds.moulds * mould_s / 60, good_minutes(plan)
    in_time = min(moulds.moulds, int(good_min * 60 / mould_s))
    lead_min = plan.pour_at_min
    early_min = max(EARLY_LEAST_MIN, EARLY_SHARE * lead_min)
    moments = [
        Moment(pour_at_min - lead_min - early_min, "plug in", _plug_words(plan, moulds)),
        *_beside(plan, pour_at_min, early_min, air_mc, fahrenheit),
        Moment(pour_at_min, "pour", _pour_words(moulds, early_min)),
        Moment(pour_at_min + good_min, "thick", "From about here on it is thick (estimate)."),
        Moment(pour_at_min + pour_min, "last mould", "The last mould is filled."),
        *_turned_out(pour_at_min, mould_s, pour_min, setting),
    ]
    warnings = _warnings(moulds, pour_min, good_min, in_time, setting)
    return PourClock(sorted(moments), pour_min, good_min, in_time, warnings)


def good_minutes(plan: Plan) -> float:
    """Return how long the plan's chocolate stays pourable at its working temperature; estimate."""
    return pourable_min(plan.schedule.work_mc / 1000, plan.wish.chocolate.depression_k)


def progress(
    moulds: int,
    done: int,
    poured_for_min: float,
    good_min: float,
    mould_s: float = MOULD_S,
    fahrenheit: bool = False,
) -> Progress:
    """Return where the pouring stands: `done` of `moulds` after `poured_for_min` minutes.

    The pace is the one seen so far; `mould_s` until the first mould is done. Raises InputError
    for more moulds done than there are, or a time below 0.
    """
    if not (moulds >= 1 and 0 <= done <= moulds and poured_for_min >= 0 and mould_s > 0):
        raise InputError(
            f"{done} of {show_moulds(moulds)} after {poured_for_min:g} min cannot be.",
            "Count the moulds that are done, and the minutes since the first was begun.",
        )
    pace_s = poured_for_min * 60 / done if done and poured_for_min else mould_s
    left = moulds - done
    to_last_min, good_left_min = left * pace_s / 60, max(0.0, good_min - poured_for_min)
    words = _progress_words(left, pace_s, to_last_min, good_left_min, fahrenheit)
    return Progress(pace_s, left, to_last_min, good_left_min, words)


def _progress_words(
    left: int, pace_s: float, to_last_min: float, good_left_min: float, fahrenheit: bool
) -> str:
    if left == 0:
        return "All moulds are filled."
    told = f"{show_moulds(left)} left, {to_last_min:.0f} min at this pace; good for about "
    told += f"{good_left_min:.0f} min."
    if to_last_min <= good_left_min:
        return told
    late, more = left - int(good_left_min * 60 / pace_s), show_difference(0.3, fahrenheit)
    return (
        f"{told} The last {late} will be thick: raise it by {more}, or top up with a little warm."
    )


def _plug_words(plan: Plan, moulds: MouldPlan) -> str:
    seed_g = plan.seeding.seed_g if plan.seeding else 0
    on_top = f"; the {show_mass(seed_g)} of seed come on top, to spare" if seed_g else ""
    return (
        f"Load {show_mass(plan.schedule.mass_g)} ({moulds.poured} bars of "
        f"{show_mass(moulds.piece_g)}, and what stays in the bowl{on_top}). Dry bowl, dry probe. "
        "Press start."
    )


def _pour_words(moulds: MouldPlan, early_min: float) -> str:
    sooner = f"It may be ready {early_min:.0f} min sooner."
    return f"Dip a knife, then pour: {show_moulds(moulds.moulds)}. {sooner}"


def _beside(
    plan: Plan, pour_at_min: int, early_min: float, air_mc: int, fahrenheit: bool
) -> list[Moment]:
    """Moulds, refrigerator, lumps and seed, counted back from the pour."""
    best = " to ".join(show_temperature(mc, fahrenheit) for mc in (BEST_LOW_MC, BEST_HIGH_MC))
    cold = show_temperature(air_mc, fahrenheit)
    back = pour_at_min - plan.pour_at_min
    aside = back + plan.aside_min
    seed = f" Weigh {show_mass(plan.seeding.seed_g)} of seed." if plan.seeding else ""
    found = [
        Moment(aside, "moulds out", f"Moulds out and polished, to {best}.{seed}"),
        Moment(aside, "refrigerator on", f"Refrigerator to {cold}."),
    ]
    if plan.rows[0].kind == "melt":
        # Until the lumps are gone the head start is not used up.
        lumps = back + plan.rows[0].reach_min - early_min / 2
        found.append(Moment(lumps, "lumps", "Look for lumps."))
    if plan.seed_at_min is not None and plan.seeding is not None:
        words = f"Seed in: {show_mass(plan.seeding.seed_g)}."
        found.append(Moment(back + plan.seed_at_min, "seed", words))
    return found


def _turned_out(pour_at_min: int, mould_s: int, pour_min: float, setting: Setting) -> list[Moment]:
    released = setting.released_min
    if released is None:
        return []
    first = pour_at_min + mould_s / 60
    return [
        Moment(first + 15, "look", "First mould: look underneath. Evenly pale = released."),
        Moment(
            first + released, "first out", "Turn out the first mould, if the room is dry enough."
        ),
        Moment(pour_at_min + pour_min + released, "last out", "Turn out the last mould."),
    ]


def _warnings(
    moulds: MouldPlan, pour_min: float, good_min: float, in_time: int, setting: Setting
) -> list[str]:
    found = []
    if pour_min > good_min:
        found.append(
            f"Filling {show_moulds(moulds.moulds)} takes {pour_min:.0f} min, and it stays good "
            f"for about {good_min:.0f} (estimate): after {show_moulds(in_time)} it is thick. "
            "Two people, or two bowls."
        )
    if setting.released_min is None:
        found.append("In this air the bars do not release: use cooler air, and moving.")
    return found


def _check(plan: Plan, moulds: MouldPlan, pour_at_min: int, mould_s: int) -> None:
    if not 0 <= pour_at_min < DAY_MIN:
        raise InputError("That is no time of day.", "Write it like 10:00.")
    low_s, high_s = MOULD_RANGE_S
    if not low_s <= mould_s <= high_s:
        raise InputError(
            f"{show_span(int(mould_s))} for a mould cannot be.",
            f"Give {show_span(low_s)} to {show_span(high_s)}.",
        )
    if plan.schedule.mass_g < moulds.batch_g:
        raise InputError(
            f"The bowl has {show_mass(plan.schedule.mass_g)}; these moulds take "
            f"{show_mass(moulds.batch_g)}.",
            "Plan the schedule for that mass.",
        )


def told(clock: PourClock) -> list[str]:
    """Return a line for each moment: "08:15  Load 3.16 kg ..."."""
    return [f"{show_time(moment.at_min)}  {moment.words}" for moment in clock.moments]
