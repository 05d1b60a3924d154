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
from typing import NamedTuple, Protocol

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.model import ScheduleFile, Step

ROOM_MATTERS = ("cool", "seed", "rewarm", "work")
SLICE_C = 0.1
LIQUID_START_C = 40.0
"""What a liquid start is taken for (assumption)."""
THICK_BELOW_C = 3.0
"""Chocolate still in temper is taken for thick, stirred, so far below work (assumption)."""
ROOM_RANGE_C = (-10.0, 45.0)
ROOM_MARGIN_C = 1.0
"""A full fan still leaves the bowl warmer than the room: stirring gives off 1-3 W."""
COOL_MOST_MIN = 90.0
"""A cool step that takes longer is refused: the last degrees would never come (own choice)."""
WALL_MARGIN_C = 0.5
"""The regulator keeps the plate so far below the wall limit."""
SET_COUPLING = 0.3
"""Share of the plate's conductance left while the chocolate is set: it is not stirred yet."""
SET_BELOW_C = 32.0
LANDING_S = 110.0
GENTLE_BAND_C = 2.5
GENTLE_C_PER_MIN = 0.45
REACHED_C = {"cool": 0.15, "melt": 0.2, "rewarm": 0.2}
REACHED_NEAR_C = 0.3
"""The firmware's own figures, `rigfw.regulator` and `rigfw.limits`; a test compares them."""
SEED_MELTED_SHARE = 0.5
"""Share of the seed's fat that melts in the bowl; between none and all (own choice)."""
LONGEST_MIN = 16 * 60.0


class RigHeat(Protocol):
    """What the forecast must know of a rig; `rigs.description` has it."""

    @property
    def heater_w(self) -> float:
        """Power of the heater."""

    @property
    def plate_j_per_k(self) -> float:
        """Heat capacity of plate and bowl."""

    @property
    def plate_w_per_k(self) -> float:
        """Conductance from plate to stirred liquid chocolate."""

    @property
    def loss_w_per_k(self) -> float:
        """Loss of the whole to the room in still air."""

    @property
    def fan_loss_w_per_k(self) -> float:
        """What a full fan adds to the loss."""


class StepForecast(NamedTuple):
    """One step: minutes until its target is reached, then its hold; waits are not counted."""

    kind: str
    reach_min: float
    hold_min: float

    @property
    def minutes(self) -> float:
        """Return the minutes of the whole step."""
        return self.reach_min + self.hold_min


class _Bowl(NamedTuple):
    """Chocolate on a rig in a room."""

    rig: RigHeat
    kind: ChocolateType
    mass_g: int
    room_c: float

    @property
    def heat_j_per_k(self) -> float:
        """Heat capacity of chocolate and plate, without melting."""
        chocolate = self.mass_g / 1000 * self.kind.specific_heat
        return chocolate + self.rig.plate_j_per_k

    @property
    def cooling_w_per_k(self) -> float:
        """Loss with the fan full on; the fan blows on the plate, the heat must get there."""
        fan, plate = self.rig.fan_loss_w_per_k, self.rig.plate_w_per_k
        return self.rig.loss_w_per_k + fan * plate / (fan + plate)

    def melting_j(self, low_c: float, high_c: float) -> float:
        """Heat that melting takes between two temperatures."""
        shift_c = heat.melting_depression(self.kind.milk_fat_share)
        share = heat.melted_share(high_c + shift_c) - heat.melted_share(low_c + shift_c)
        return share * self.kind.latent_heat * self.mass_g / 1000


def forecast(
    schedule: ScheduleFile, rig: RigHeat, room_c: float, kind: ChocolateType | None = None
) -> list[StepForecast]:
    """Return a forecast per step for a room of `room_c` degC.

    `kind` has the heats of the described chocolate; without it those usual for the type are taken.

    Raises InputError when the room is too warm for a step, the heater too weak, or the batch
    longer than 16 h; the message says why and the remedy what would work.
    """
    _check_room(room_c)
    bowl = _Bowl(rig, kind or schedule.chocolate_type, schedule.mass_g, room_c)
    at_c, melted, rows = _start_c(schedule, room_c), schedule.start != "solid", []
    mixing_min = 0.0
    for step_no, step in enumerate(schedule.steps, 1):
        _check_step(schedule, bowl, step_no, step, at_c)
        minutes = _reach_min(bowl, step, at_c, melted)
        if math.isinf(minutes):
            raise _too_weak(bowl, step_no, step)
        # While seed is mixed in, the rig already goes on to the next step's target.
        rows.append(StepForecast(step.kind, max(0.0, minutes - mixing_min), step.hold_s / 60))
        mixing_min = step.hold_s / 60 if step.kind == "seed" else 0.0
        at_c = _after(bowl, step, at_c)
        melted = melted or step.kind == "melt"
    _check_total(rows)
    return rows


def total_minutes(rows: list[StepForecast]) -> float:
    """Return the minutes of all steps together."""
    return sum(row.minutes for row in rows)


def warmest_room_c(schedule: ScheduleFile, rig: RigHeat) -> float:
    """Return the warmest room in degC, to 0.1, in which every step can be reached and held."""
    bowl = _Bowl(rig, schedule.chocolate_type, schedule.mass_g, 0.0)
    from_c, warmest = _start_c(schedule, 0.0), math.inf
    for step in schedule.steps:
        target_c = step.target_mc / 1000
        if step.kind in ROOM_MATTERS:
            warmest = min(warmest, _warmest_for(bowl, from_c, target_c))
        from_c = target_c
    return math.floor(warmest * 10) / 10


def _start_c(schedule: ScheduleFile, room_c: float) -> float:
    by_start = {
        "solid": room_c,
        "liquid": max(room_c, LIQUID_START_C),
        "hot": schedule.ceiling_mc / 1000,  # fed as hot as the schedule allows
        "in_temper": max(room_c, schedule.steps[0].target_mc / 1000 - THICK_BELOW_C),
    }
    return by_start[schedule.start]


def _check_room(room_c: float) -> None:
    low_c, high_c = ROOM_RANGE_C
    if not low_c <= room_c <= high_c:  # NaN fails this too
        raise InputError(
            f"A room of {room_c:g} °C cannot be.", f"Give {low_c:g} to {high_c:g} °C."
        )


def _reach_min(bowl: _Bowl, step: Step, from_c: float, melted: bool) -> float:
    """Return the minutes until the firmware calls the target reached."""
    to_c, near_c = step.target_mc / 1000, REACHED_C.get(step.kind, REACHED_NEAR_C)
    if from_c < to_c - near_c:
        return sum(_heating(bowl, step, from_c, to_c - near_c, melted))
    if from_c > to_c + near_c:
        return sum(_cooling(bowl, step, from_c, to_c + near_c))
    return 0.0


def _least_min(step: Step, low_c: float, high_c: float) -> float:
    """Return the minutes of a slice as far as the regulator decides: its rate, its landing."""
    missing_c = abs((low_c + high_c) / 2 - step.target_mc / 1000)
    rate_c_per_min = min(step.rate_mc_per_min / 1000, missing_c * 60 / LANDING_S)
    if low_c >= step.target_mc / 1000 and missing_c < GENTLE_BAND_C:
        rate_c_per_min = min(rate_c_per_min, GENTLE_C_PER_MIN)
    return (high_c - low_c) / rate_c_per_min


def _slices(low_c: float, high_c: float) -> Iterator[tuple[float, float]]:
    count = max(1, math.ceil((high_c - low_c) / SLICE_C))
    width = (high_c - low_c) / count
    for n in range(count):
        yield low_c + n * width, low_c + (n + 1) * width


def _heating(bowl: _Bowl, step: Step, from_c: float, to_c: float, melted: bool) -> Iterator[float]:
    """Yield the minutes of each slice on the way up; infinite where the heat does not suffice."""
    for low_c, high_c in _slices(from_c, to_c):
        at_c = (low_c + high_c) / 2
        coupling = SET_COUPLING if not melted and at_c < SET_BELOW_C else 1.0
        room_for_c = step.wall_mc / 1000 - WALL_MARGIN_C - at_c
        given_w = min(bowl.rig.heater_w, coupling * bowl.rig.plate_w_per_k * room_for_c)
        net_w = given_w - bowl.rig.loss_w_per_k * (at_c - bowl.room_c)
        needed_j = bowl.heat_j_per_k * (high_c - low_c)
        if not melted:
            needed_j += bowl.melting_j(low_c, high_c)
        least_min = _least_min(step, low_c, high_c)
        yield max(least_min, needed_j / net_w / 60) if net_w > 0 else math.inf


def _cooling(bowl: _Bowl, step: Step, from_c: float, to_c: float) -> Iterator[float]:
    """Yield the minutes of each slice on the way down, by the fan or by the step's rate."""
    for low_c, high_c in _slices(to_c, from_c):
        over_c = (low_c + high_c) / 2 - bowl.room_c
        least_min = _least_min(step, low_c, high_c)
        loss_w = bowl.cooling_w_per_k * over_c
        needed_j = bowl.heat_j_per_k * (high_c - low_c)
        yield max(least_min, needed_j / loss_w / 60) if loss_w > 0 else math.inf


def _after(bowl: _Bowl, step: Step, from_c: float) -> float:
    """Return the temperature a step ends at; seed takes its cold with it."""
    target_c = step.target_mc / 1000
    if step.kind == "cool":
        return min(from_c, target_c)
    if step.kind != "seed":
        return target_c
    return heat.seed_balance(
        bowl.mass_g / 1000,
        target_c,
        step.seed_g / 1000,
        bowl.room_c,
        SEED_MELTED_SHARE,
        specific_j_per_kg_k=bowl.kind.specific_heat,
        latent_j_per_kg=bowl.kind.latent_heat,
    )


def _check_step(
    schedule: ScheduleFile, bowl: _Bowl, step_no: int, step: Step, from_c: float
) -> None:
    """Refuse a step whose target this room does not let the bowl reach or keep."""
    target_c = step.target_mc / 1000
    if step.kind in ROOM_MATTERS and bowl.room_c > _warmest_for(bowl, from_c, target_c):
        raise _too_warm(schedule, bowl, step_no, step)


def _warmest_for(bowl: _Bowl, from_c: float, target_c: float) -> float:
    """Return the warmest room in which `target_c` can be held, and reached within 90 min.

    Newton's law solved for the room: (from - room) / (target - room) = exp(t UA / C).
    """
    hold_c = target_c - ROOM_MARGIN_C
    if target_c >= from_c or bowl.cooling_w_per_k <= 0:
        return hold_c if target_c >= from_c else -math.inf
    left = math.exp(-COOL_MOST_MIN * 60 * bowl.cooling_w_per_k / bowl.heat_j_per_k)
    return min(hold_c, (target_c - from_c * left) / (1 - left))


def _too_warm(schedule: ScheduleFile, bowl: _Bowl, step_no: int, step: Step) -> InputError:
    most_c = warmest_room_c(schedule, bowl.rig)
    room = show_temperature(round(bowl.room_c * 1000))
    remedy = f"A room of at most {most_c:.1f} °C works"
    if schedule.method == "cooled":
        seed = show_temperature(schedule.chocolate_type.seed_at_mc)
        remedy += f", or the seeded method, which cools only to {seed} before the seed"
    return InputError(
        f"A room of {room} is too warm for step {step_no} ({step.kind}): "
        f"{show_mass(bowl.mass_g)} does not come down to {show_temperature(step.target_mc)} "
        f"within {COOL_MOST_MIN:g} min, or does not stay there.",
        remedy + ".",
    )


def _too_weak(bowl: _Bowl, step_no: int, step: Step) -> InputError:
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
