"""A batch made ready to be sent: its plan, its forecast curve, and how long pouring stays good."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.runs.live.ahead import Course
from snapgloss.runs.plan import BatchPlan, plan_of
from snapgloss.runs.sources import NOTHING, Sources
from snapgloss.schedules.spread import Spread

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.model import ScheduleFile


@dataclass(frozen=True)
class Staged:
    """`course`, `spread` and `good_min` are estimates; `moulds` 0 where nobody said how many.
    `sources` are kept with the run from its beginning."""

    plan: BatchPlan
    room_c: float
    course: Course | None = None
    good_min: float | None = None
    moulds: int = 0
    sources: Sources = NOTHING
    spread: Spread = ()


def staged_of(
    schedule: "ScheduleFile", rig: "RigDescription", room_c: float, workshop: str = "",
    seed: int | None = None, moulds: int = 0, spread: Spread | None = None,
) -> Staged:  # fmt: skip
    """Make a schedule ready for a rig in a room of `room_c` degC; `spread` None is worked out.

    Raises InputError when it cannot be done there, saying what would work. Takes a second.
    """
    from snapgloss.schedules.forecast import course
    from snapgloss.schedules.outlook import spread_on

    plan = plan_of(schedule, rig, room_c, workshop, seed)
    minutes, degrees = course(schedule, rig, room_c)
    curve = (tuple(60 * one for one in minutes), tuple(degrees))
    if spread is None:
        spread = spread_on(schedule, rig, room_c)
    return Staged(plan, room_c, curve, _good_min(schedule), moulds, spread=spread)


def staged_again(
    schedule_toml: str, rig: "RigDescription", room_c: float, workshop: str,
    seed: int | None = None,
) -> Staged | None:  # fmt: skip
    """Make ready what the record or the session kept; None when it cannot be read any more."""
    from snapgloss.schedules import files

    try:
        return staged_of(files.from_text(schedule_toml), rig, room_c, workshop, seed)
    except InputError:
        return None


def _good_min(schedule: "ScheduleFile") -> float | None:
    from snapgloss.chocolate.thickening import pourable_min

    try:
        depression_k = schedule.chocolate_type.depression_k
        return pourable_min(schedule.work_mc / 1000, depression_k)
    except InputError:
        return None
