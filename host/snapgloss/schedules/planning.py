"""From a chocolate, a rig and a room to a schedule that works there, or what would work instead.

The schedule is the maker's, its minutes the forecast's. Where the forecast says no, the
alternatives named have been tried by the same forecast.
"""

from dataclasses import dataclass, replace
from typing import Any, Protocol

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.chocolate.types import ChocolateType, type_of
from snapgloss.schedules.bowl import RigHeat
from snapgloss.schedules.forecast import StepForecast, check_room, forecast, warmest_room_c
from snapgloss.schedules.maker import RigLimits, check_mass, make
from snapgloss.schedules.model import Method, ScheduleFile, StartState
from snapgloss.schedules.seeding import Seeding, SeedKind, weigh_seed

OLD_MELT_OUT_S = 1200
"""Old or bloomed blocks rest the longer: 10-20 min (common practice, no source)."""
LESS_BY_G = 100
COOL_SEED_C = 20.0
"""Where seed is kept when the room is too warm for it (common practice, no source)."""
ASIDE_MIN = 60.0
"""Before pouring: moulds out and polished, refrigerator on (common practice, no source)."""


class Rig(RigLimits, RigHeat, Protocol):
    """What planning must know of a rig; `rigs.description` has it."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be tempered. `seed_c` None = as cold as the room; `old` or bloomed blocks."""

    chocolate: ChocolateType
    mass_g: int
    method: Method | None = None
    start: StartState = "solid"
    name: str | None = None
    milk_fat_permille: int | None = None
    seed_kind: SeedKind = "chopped"
    seed_c: float | None = None
    old: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A schedule that works: its forecast by steps, its seed (None = no seed), and the wish."""

    wish: Wish
    schedule: ScheduleFile
    rows: list[StepForecast]
    seeding: Seeding | None
    room_c: float

    def begins_min(self, step_no: int) -> float:
        """Return minutes from the start to the beginning of a step, counted from 1."""
        return sum(row.minutes for row in self.rows[: step_no - 1])

    @property
    def seed_at_min(self) -> float | None:
        """Return minutes from the start until the seed goes in."""
        for step_no, row in enumerate(self.rows, 1):
            if row.kind == "seed":
                return self.begins_min(step_no) + row.reach_min
        return None

    @property
    def pour_at_min(self) -> float:
        """Return minutes from the start until the working temperature is reached."""
        return self.begins_min(len(self.rows)) + self.rows[-1].reach_min

    @property
    def aside_min(self) -> float:
        """Return minutes from the start until moulds come out and the refrigerator goes on."""
        return max(0.0, self.pour_at_min - ASIDE_MIN)


def wish_of(chocolate: ChocolateDescription, mass_g: int, **more: Any) -> Wish:
    """Return the wish for a described chocolate; `more` are other fields of Wish."""
    kind = chocolate.chocolate_type
    usual = type_of(chocolate.type).milk_fat_share
    said = chocolate.milk_fat_share != usual or chocolate.milk_fat_permille is not None
    milk_fat = round(chocolate.milk_fat_share * 1000) if said else None
    return Wish(kind, mass_g, name=chocolate.name, milk_fat_permille=milk_fat, **more)


def method_of(wish: Wish) -> Method:
    """Return the method: as wished, else kept for chocolate in temper and seeded for all other.

    Seeded needs only about 33.5 degC and no low point, so a fan can do it in a warm room.
    """
    return wish.method or ("kept" if wish.start == "in_temper" else "seeded")


def plan(wish: Wish, rig: Rig, room_c: float) -> Plan:
    """Return the plan. Raises InputError when it cannot work; its remedy names what would."""
    try:
        return _plan(wish, rig, room_c)
    except InputError as no:
        instead = alternatives(wish, rig, room_c)
        if not instead:
            raise
        raise InputError(no.message, "What would work: " + "; or ".join(instead) + ".") from None


def alternatives(wish: Wish, rig: Rig, room_c: float) -> list[str]:
    """Return phrases of what would work instead, each tried by the forecast; may be empty."""
    found = []
    if method_of(wish) == "cooled":
        seeded = replace(wish, method="seeded")
        if _works(seeded, rig, room_c):
            found.append("the seeded method, which has no low point")
    if method_of(wish) == "seeded" and _works(replace(wish, seed_c=COOL_SEED_C), rig, room_c):
        found.append(f"seed kept at {show_temperature(round(COOL_SEED_C * 1000))}")
    less_g = _largest_that_works(wish, rig, room_c)
    if less_g:
        found.append(f"at most {show_mass(less_g)} at a time")
    edge_c = _warmest(wish, rig)
    if edge_c is not None and edge_c < room_c and _works(wish, rig, edge_c):
        found.append(f"a room of at most {show_temperature(round(edge_c * 1000))}")
    return found


def _plan(wish: Wish, rig: Rig, room_c: float) -> Plan:
    check_mass(wish.mass_g, rig.largest_mass_g)
    check_room(room_c)
    seeding = None
    if method_of(wish) == "seeded":
        if wish.seed_c is None:
            _check_seeds_room(wish.chocolate, room_c)
        seed_c = room_c if wish.seed_c is None else wish.seed_c
        seeding = weigh_seed(
            wish.chocolate, wish.mass_g, seed_c, wish.seed_kind, rig.plate_j_per_k
        )
    schedule = _schedule(wish, rig, seeding)
    rows = forecast(schedule, rig, room_c, wish.chocolate)
    return Plan(wish, schedule, rows, seeding, room_c)


def _check_seeds_room(chocolate: ChocolateType, room_c: float) -> None:
    """Seed that lies in the room is as warm as the room: then the room is what is wrong."""
    if room_c > chocolate.work_low_mc / 1000:
        room, most = (show_temperature(mc) for mc in (round(room_c * 1000), chocolate.work_low_mc))
        raise InputError(
            f"A room of {room} is too warm: seed that lies in it goes soft and loses its temper.",
            f"Use a room of at most {most}, or seed from a cooler place.",
        )


def _schedule(wish: Wish, rig: Rig, seeding: Seeding | None) -> ScheduleFile:
    chocolate = wish.chocolate
    if wish.old:
        longer_s = max(chocolate.melt_out_s, OLD_MELT_OUT_S)
        chocolate = replace(chocolate, melt_out_s=longer_s)
    return make(
        chocolate, rig, wish.mass_g, method_of(wish), wish.start, wish.name,
        wish.milk_fat_permille, seeding.seed_g if seeding else None,
    )  # fmt: skip


def _works(wish: Wish, rig: Rig, room_c: float) -> bool:
    try:
        _plan(wish, rig, room_c)
    except InputError:
        return False
    return True


def _largest_that_works(wish: Wish, rig: Rig, room_c: float) -> int:
    """Return the most grams under the wish, to 100 g, that work; 0 if none do."""
    low, high = 0, (min(wish.mass_g, rig.largest_mass_g + LESS_BY_G) - 1) // LESS_BY_G
    while low < high:  # less is always easier, so the edge can be halved in on
        middle = (low + high + 1) // 2
        if _works(replace(wish, mass_g=middle * LESS_BY_G), rig, room_c):
            low = middle
        else:
            high = middle - 1
    return low * LESS_BY_G


def _warmest(wish: Wish, rig: Rig) -> float | None:
    """Return the warmest room for the wish in degC, or None when it cannot be made at all."""
    try:
        bowl_c = warmest_room_c(_schedule(wish, rig, None), rig)
    except InputError:
        return None
    in_room = method_of(wish) == "seeded" and wish.seed_c is None
    return min(bowl_c, wish.chocolate.work_low_mc / 1000) if in_room else bowl_c
