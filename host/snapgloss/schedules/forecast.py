"""How long each step will take on a rig in a room, or why it cannot be done there.

A lumped heat balance: chocolate and plate are one mass; the heater is held back by the step's
wall limit and rate; melting follows `chocolate.heat.melted_share`; crystal heat is left out (1 %
of the fat is worth 0.3 K). The landing on each target is the one of the firmware's regulator. An
estimate: it does not know how the blocks lie in the bowl. The firmware's regulator on the
simulated bowl took 1.1 times as long for the melt and 1.1 to 1.45 times for the first cool (1 to
4 kg, 18 to 25 degC); a bowl of 500 g took up to 1.9 times as long.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.bowl import Bowl, RigHeat, Slice, way
from snapgloss.schedules.model import ScheduleFile, Step
from snapgloss.schedules.seeding import landing_c

ROOM_MATTERS = ("cool", "seed", "rewarm", "work")
LIQUID_START_C = 40.0
"""What a liquid start is taken for (assumption)."""
THICK_BELOW_C = 3.0
"""Chocolate still in temper is taken for thick, stirred, so far below work (assumption)."""
ROOM_RANGE_C = (-10.0, 45.0)
ROOM_MARGIN_C = 1.0
"""A full fan still leaves the bowl warmer than the room: stirring gives off 1-3 W."""
ROOM_NEAR_C = 1.0
"""A room nearer than this to the warmest that works is warned of (own choice)."""
COOL_MOST_MIN = 90.0
"""A cool step that takes longer is refused: the last degrees would never come (own choice)."""
SEED_MELTED_SHARE = 0.5
"""Share of the seed's fat that melts in the bowl; between none and all (own choice)."""
LONGEST_MIN = 16 * 60.0


class StepForecast(NamedTuple):
    """One step: minutes until its target is reached, then its hold; waits are not counted."""

    kind: str
    reach_min: float
    hold_min: float

    @property
    def minutes(self) -> float:
        """Return the minutes of the whole step."""
        return self.reach_min + self.hold_min


def forecast(
    schedule: ScheduleFile, rig: RigHeat, room_c: float, kind: ChocolateType | None = None
) -> list[StepForecast]:
    """Return a forecast per step for a room of `room_c` degC.

    `kind` has the heats of the described chocolate; without it those usual for the type are taken.

    Raises InputError when the room is too warm for a step, the heater too weak, or the batch
    longer than 16 h; the message says why and the remedy what would work.
    """
    check_room(room_c)
    bowl = Bowl(rig, kind or schedule.chocolate_type, schedule.mass_g, room_c)
    walks = list(_walk(schedule, bowl))
    for step_no, (step, from_c, slices) in enumerate(walks, 1):
        _check_step(schedule, bowl, step_no, step, from_c)
        if any(math.isinf(one.minutes) for one in slices):
            raise _too_weak(bowl, step_no, step)
    rows = _rows(walks)
    _check_total(rows)
    return rows


def course(
    schedule: ScheduleFile, rig: RigHeat, room_c: float, kind: ChocolateType | None = None
) -> tuple[list[float], list[float]]:
    """Return (minutes, degC) along a schedule as `forecast` sees it, holds included.

    Raises what `forecast` raises.
    """
    rows = forecast(schedule, rig, room_c, kind)
    bowl = Bowl(rig, kind or schedule.chocolate_type, schedule.mass_g, room_c)
    minutes, degrees = [0.0], [start_c(schedule, room_c)]
    for row, (step, from_c, slices) in zip(rows, _walk(schedule, bowl), strict=True):
        whole = sum(one.minutes for one in slices)
        begun, scale = minutes[-1], row.reach_min / whole if whole else 0.0
        # Seed that is mixed in leaves less of the next step's way: its minutes are squeezed.
        minutes.append(begun)
        degrees.append(from_c)
        for one in slices:
            minutes.append(minutes[-1] + one.minutes * scale)
            degrees.append(one.to_c)
        ends_c = _after(bowl, step, from_c)
        minutes += [minutes[-1], max(minutes[-1], begun + row.minutes)]
        degrees += [ends_c if step.kind == "seed" else degrees[-1], ends_c]
    return minutes, degrees


def _walk(schedule: ScheduleFile, bowl: Bowl) -> Iterator[tuple[Step, float, list[Slice]]]:
    """Yield each step with the temperature it begins at and its way to its target."""
    at_c, melted = start_c(schedule, bowl.room_c), schedule.start != "solid"
    for step in schedule.steps:
        yield step, at_c, way(bowl, step, at_c, melted)
        at_c = _after(bowl, step, at_c)
        melted = melted or step.kind == "melt"


def _rows(walks: list[tuple[Step, float, list[Slice]]]) -> list[StepForecast]:
    rows, mixing_min = [], 0.0
    for step, _, slices in walks:
        minutes = sum(one.minutes for one in slices)
        # While seed is mixed in, the rig already goes on to the next step's target.
        rows.append(StepForecast(step.kind, max(0.0, minutes - mixing_min), step.hold_s / 60))
        mixing_min = step.hold_s / 60 if step.kind == "seed" else 0.0
    return rows


def total_minutes(rows: list[StepForecast]) -> float:
    """Return the minutes of all steps together."""
    return sum(row.minutes for row in rows)


def warmest_room_c(schedule: ScheduleFile, rig: RigHeat) -> float:
    """Return the warmest room in degC, to 0.1, in which every step can be reached and held."""
    bowl = Bowl(rig, schedule.chocolate_type, schedule.mass_g, 0.0)
    from_c, warmest = start_c(schedule, 0.0), math.inf
    for step in schedule.steps:
        target_c = step.target_mc / 1000
        if step.kind in ROOM_MATTERS:
            warmest = min(warmest, _warmest_for(bowl, from_c, target_c))
        from_c = target_c
    return math.floor(warmest * 10) / 10


def room_doubt(schedule: ScheduleFile, rig: RigHeat, room_c: float) -> str:
    """Return a warning where the room is within ROOM_NEAR_C of the warmest that works, else ""."""
    most_c = warmest_room_c(schedule, rig)
    if room_c <= most_c - ROOM_NEAR_C:
        return ""
    words = (
        f"The room is close to the warmest that works, {show_temperature(round(most_c * 1000))}: "
        "an hour that is warmer, and the bowl does not come down."
    )
    return words + (" Seeded has no low point." if schedule.method == "cooled" else "")


def start_c(schedule: ScheduleFile, room_c: float) -> float:
    """Return what the chocolate is taken to have at the start, degC."""
    by_start = {
        "solid": room_c,
        "liquid": max(room_c, LIQUID_START_C),
        "hot": schedule.ceiling_mc / 1000,  # fed as hot as the schedule allows
        "in_temper": max(room_c, schedule.steps[0].target_mc / 1000 - THICK_BELOW_C),
    }
    return by_start[schedule.start]


def check_room(room_c: float) -> None:
    """Raise InputError for a room nobody works in: outside -10..45 degC, or no number."""
    low_c, high_c = ROOM_RANGE_C
    if not low_c <= room_c <= high_c:  # NaN fails this too
        raise InputError(
            f"A room of {room_c:g} °C cannot be.", f"Give {low_c:g} to {high_c:g} °C."
        )


def _after(bowl: Bowl, step: Step, from_c: float) -> float:
    """Return the temperature a step ends at; seed takes its cold with it."""
    target_c = step.target_mc / 1000
    if step.kind == "cool":
        return min(from_c, target_c)
    if step.kind != "seed":
        return target_c
    return landing_c(
        bowl.kind, bowl.mass_g, target_c, step.seed_g, bowl.room_c, SEED_MELTED_SHARE,
        bowl.rig.plate_j_per_k,
    )  # fmt: skip


def _check_step(
    schedule: ScheduleFile, bowl: Bowl, step_no: int, step: Step, from_c: float
) -> None:
    """Refuse a step whose target this room does not let the bowl reach or keep."""
    target_c = step.target_mc / 1000
    if step.kind in ROOM_MATTERS and bowl.room_c > _warmest_for(bowl, from_c, target_c):
        raise _too_warm(schedule, bowl, step_no, step)


def _warmest_for(bowl: Bowl, from_c: float, target_c: float) -> float:
    """Return the warmest room in which `target_c` can be held, and reached within 90 min.

    Newton's law solved for the room: (from - room) / (target - room) = exp(t UA / C).
    """
    hold_c = target_c - ROOM_MARGIN_C
    if target_c >= from_c or bowl.cooling_w_per_k <= 0:
        return hold_c if target_c >= from_c else -math.inf
    left = math.exp(-COOL_MOST_MIN * 60 * bowl.cooling_w_per_k / bowl.heat_j_per_k)
    return min(hold_c, (target_c - from_c * left) / (1 - left))


def _too_warm(schedule: ScheduleFile, bowl: Bowl, step_no: int, step: Step) -> InputError:
    most_c = warmest_room_c(schedule, bowl.rig)
    room = show_temperature(round(bowl.room_c * 1000))
    remedy = f"A room of at most {most_c:.1f} °C works"
    if schedule.method == "cooled":
        seed = show_temperature(schedule.chocolate_type.seed_at_mc)
        remedy += f", or the seeded method (cools to {seed} only)"
    return InputError(
        f"Step {step_no} ({step.kind}): a room of {room} is too warm for {show_mass(bowl.mass_g)} "
        f"to be {show_temperature(step.target_mc)} in {COOL_MOST_MIN:g} min.",
        remedy + ".",
    )


def _too_weak(bowl: Bowl, step_no: int, step: Step) -> InputError:
    room = show_temperature(round(bowl.room_c * 1000))
    return InputError(
        f"Step {step_no} ({step.kind}): the heat does not reach "
        f"{show_temperature(step.target_mc)} in a room of {room} with a wall of at "
        f"most {show_temperature(step.wall_mc)}.",
        "A warmer room, a stronger heater or a lower target works.",
    )


def _check_total(rows: list[StepForecast]) -> None:
    total = total_minutes(rows)
    if total > LONGEST_MIN:
        raise InputError(
            f"This batch would take {total / 60:.0f} h.", "Use less chocolate or more heat."
        )
