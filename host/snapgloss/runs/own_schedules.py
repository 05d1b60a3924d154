"""The maker's own schedule files, kept in the data folder, and one of them made ready."""

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.clock_times import show_time
from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass
from snapgloss.runs import words
from snapgloss.runs.live.staged import staged_of
from snapgloss.runs.preparing import AS_SOON_AS_READY, Prepared, StepTold, late, spent
from snapgloss.schedules import files

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.model import ScheduleFile
    from snapgloss.schedules.outlook import Outlook

FOLDER = "schedules"
"""Inside the data folder; a file for each schedule."""
FILES_MOST = 200


class OwnSchedule(NamedTuple):
    """A schedule file of the maker's; `key` is its file's name."""

    key: str
    schedule: "ScheduleFile"


def own_schedules(folder: Path, chocolate: str) -> list[OwnSchedule]:
    """Return those for a chocolate, by name. A file that cannot be read is passed over:
    `check_file` says what is wrong with it."""
    found = []
    for path in sorted((folder / FOLDER).glob("*.toml"))[:FILES_MOST]:
        try:
            schedule = files.read(path)
        except InputError:
            continue
        if schedule.chocolate.casefold() == chocolate.casefold():
            found.append(OwnSchedule(path.name, schedule))
    return found


def prepare_own(
    schedule: "ScheduleFile", rig: "RigDescription", room_c: float, now_min: int,
    workshop: str = "", pour_at_min: int = AS_SOON_AS_READY,
) -> Prepared:  # fmt: skip
    """Work out a schedule as its file says, in a room of `room_c` degC; minutes are of the day.

    Raises InputError when it cannot be done; its remedy says what would work. Takes a second.
    """
    from snapgloss.schedules.forecast import room_doubt
    from snapgloss.schedules.outlook import outlook_on
    from snapgloss.schedules.unusual import warnings

    ahead = outlook_on(schedule, rig, room_c)
    staged = staged_of(schedule, rig, room_c, workshop, spread=ahead.spread)
    asides = _asides(schedule, ahead)
    begin_min = now_min
    if pour_at_min != AS_SOON_AS_READY:
        begin_min = round(pour_at_min - asides[-1][0])
    doubt = room_doubt(schedule, rig, room_c)
    said = (*warnings(schedule), *([doubt] if doubt else []), *ahead.warnings)
    return Prepared(
        staged=staged,
        steps=tuple(_steps(schedule, ahead)),
        total_min=round(ahead.total_min),
        mass_g=schedule.mass_g,
        seed_g=schedule.seed_g,
        moulds=0,
        good_min=round(staged.good_min or 0.0),
        moments=tuple((show_time(begin_min + minute), told) for minute, told in asides),
        warnings=tuple(dict.fromkeys((*said, *late(begin_min, now_min)))),
        limits=(),
    )


def _steps(schedule: "ScheduleFile", ahead: "Outlook") -> list[StepTold]:
    from snapgloss.schedules.wire import to_wire

    rows = zip(to_wire(schedule).steps, ahead.steps, strict=True)
    return [StepTold(words.doing(step), spent(row), "") for step, row in rows]


def _asides(schedule: "ScheduleFile", ahead: "Outlook") -> list[tuple[float, str]]:
    """Minutes from the start, and what the hands do then."""
    from snapgloss.schedules.reasons import DIP_KNIFE, SEED_IN

    found, at_min = [(0.0, words.PRESS_START)], 0.0
    for step, row in zip(schedule.steps, ahead.steps, strict=True):
        if step.kind == "seed":
            found.append(
                (at_min + row.reach_min.middle, SEED_IN.format(mass=show_mass(step.seed_g)))
            )
        at_min += row.reach_min.middle
        if step.kind == "work":
            found.append((at_min, DIP_KNIFE))
        at_min += row.hold_min
    return found
