"""How a batch will go, with what is not known: minutes with a 90 % band, energy, hottest plate.

Bowls that all may be the one there (`doubt`) go through the schedule (`travel`); the band is what
nine in ten of them take. Where too many never reach a step, the batch is refused and what would
make it possible is tried the same way. An estimate, as the forecast is.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, Protocol

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.doubt import Array, Doubt, RigFigures, described, draw, known
from snapgloss.schedules.forecast import COOL_MOST_MIN, SEED_MELTED_SHARE, start_c, warmest_room_c
from snapgloss.schedules.maker import RigLimits, make
from snapgloss.schedules.model import ScheduleFile, Step
from snapgloss.schedules.spread import NINE_IN_TEN, Spread, spread_of
from snapgloss.schedules.travel import Bowls, Leg

BOWLS = 400
TRIED_BOWLS = 100
REFUSED_BELOW, SURE_FROM = 0.5, 0.9
"""Chance of reaching a step under which the batch is refused, or from which nothing is said."""
ROOM_STEP_C, STRONGER, LESS, ROOMS_TRIED = 1.0, 1.25, 0.75, 8
"""How finely remedies are tried."""


class Rig(RigFigures, RigLimits, Protocol):
    """What is asked of a rig; `rigs.description` has it."""


class KnownRig(Rig, Protocol):
    """A rig that says how well its figures are known, in per cent; empty when not at all."""

    @property
    def known_percent(self) -> Mapping[Any, float]:
        """By the figure's name."""


class Band(NamedTuple):
    """What nine in ten take lies between `low` and `high`, half of all below `middle`."""

    low: float
    middle: float
    high: float


class StepOutlook(NamedTuple):
    """One step: minutes to its target, hold, heat in Wh to the hold's end, hottest plate in degC.

    `chance` (0..1) that the target is reached at all; the bands are of the bowls that do.
    """

    kind: str
    reach_min: Band
    hold_min: float
    energy_wh: Band
    plate_c: Band
    chance: float


@dataclass(frozen=True)
class Question:
    """A batch on a rig in a room, and what is in doubt about it."""

    schedule: ScheduleFile
    rig: RigFigures
    room_c: float
    kind: ChocolateType
    doubt: Doubt
    begin_c: float
    limits: RigLimits

    @property
    def mass_g(self) -> int:
        """Chocolate in the bowl, g."""
        return self.schedule.mass_g


class Outlook(NamedTuple):
    """All steps, sentences about those that may not be reached, and how their ends spread."""

    steps: list[StepOutlook]
    warnings: list[str]
    spread: Spread = ()

    @property
    def total_min(self) -> float:
        """Return the minutes of the batch in the middle of every band."""
        return sum(step.reach_min.middle + step.hold_min for step in self.steps)


def outlook(
    schedule: ScheduleFile,
    rig: Rig,
    room_c: float,
    kind: ChocolateType | None = None,
    doubt: Doubt | None = None,
    begin_c: float | None = None,
) -> Outlook:
    """Return the outlook of a schedule on a rig in a room of `room_c` degC.

    `doubt` None: the rig was only described. `begin_c` None: the chocolate begins as its start
    state usually does, degC. Raises InputError where a step is more likely missed
    than reached; its remedy names what was tried and would work.
    """
    kind = kind or schedule.chocolate_type
    begin_c = start_c(schedule, room_c) if begin_c is None else begin_c
    asked = Question(schedule, rig, room_c, kind, doubt or described(), begin_c, rig)
    travelled = legs(asked, BOWLS)
    steps = [_summed(leg) for leg in travelled]
    warnings = []
    for step_no, (step, row) in enumerate(zip(schedule.steps, steps, strict=True), 1):
        if row.chance < REFUSED_BELOW:
            raise InputError(_words(asked, step_no, step, row), _remedy(asked))
        if row.chance < SURE_FROM:
            warnings.append(_words(asked, step_no, step, row))
    return Outlook(steps, warnings, spread_of(travelled))


def outlook_on(
    schedule: ScheduleFile, rig: KnownRig, room_c: float, kind: ChocolateType | None = None
) -> Outlook:
    """Return the outlook by what is known of the rig: what it learned, or that it was described.

    Raises what `outlook` raises.
    """
    return outlook(schedule, rig, room_c, kind, _doubt_of(rig))


def spread_on(schedule: ScheduleFile, rig: KnownRig, room_c: float) -> Spread:
    """Return how the ends of the steps spread, by what is known of the rig; refuses nothing."""
    kind, begin_c = schedule.chocolate_type, start_c(schedule, room_c)
    return spread_of(
        legs(Question(schedule, rig, room_c, kind, _doubt_of(rig), begin_c, rig), BOWLS)
    )


def _doubt_of(rig: KnownRig) -> Doubt:
    percent = {str(name): value for name, value in rig.known_percent.items()}
    return known(percent) if percent else described()


def legs(asked: Question, count: int, seed: int = 1) -> list[Leg]:
    """Return every step of `count` bowls drawn by `seed`."""
    samples = draw(asked.rig, asked.kind, asked.mass_g, asked.room_c, asked.doubt, count, seed)
    solid = asked.schedule.start == "solid"
    bowls = Bowls(samples, asked.begin_c, solid, asked.kind.depression_k)
    rows, mixing_s = [], 0.0
    for step_no, step in enumerate(asked.schedule.steps):
        rows.append(bowls.leg(step, mixing_s, seed + step_no))
        mixing_s = 0.0
        if step.kind == "seed":
            _stir_in(asked, bowls, step)
            mixing_s = float(step.hold_s)
    return rows


def chance_of(leg: Leg) -> float:
    """Return the share of bowls that reach a step's target in time."""
    late = leg.reach_min > (COOL_MOST_MIN if leg.kind == "cool" else np.inf)
    return float(np.mean(np.isfinite(leg.reach_min) & ~late))


def _stir_in(asked: Question, bowls: Bowls, step: Step) -> None:
    """The seed's cold and its melting, at once."""
    for at, before_c in enumerate(bowls.product_c):
        bowls.product_c[at] = heat.seed_balance(
            asked.mass_g / 1000, float(before_c), step.seed_g / 1000, asked.room_c,
            SEED_MELTED_SHARE, specific_j_per_kg_k=asked.kind.specific_heat,
            latent_j_per_kg=asked.kind.latent_heat,
        )  # fmt: skip


def _summed(leg: Leg) -> StepOutlook:
    there = np.isfinite(leg.reach_min)
    chosen = there if there.any() else ~there
    return StepOutlook(
        leg.kind,
        _band(leg.reach_min[chosen]),
        leg.hold_min,
        _band(leg.heat_j[chosen] / 3600.0),
        _band(leg.plate_c[chosen]),
        chance_of(leg),
    )


def _band(values: Array) -> Band:
    if np.isinf(values).any():
        return Band(float("inf"), float("inf"), float("inf"))
    return Band(*(float(one) for one in np.percentile(values, NINE_IN_TEN)))


def _words(asked: Question, step_no: int, step: Step, row: StepOutlook) -> str:
    mass, room = show_mass(asked.mass_g), show_temperature(round(asked.room_c * 1000))
    target = show_temperature(step.target_mc)
    in_time = f" within {COOL_MOST_MIN:g} min" if step.kind == "cool" else ""
    return (
        f"Step {step_no} ({step.kind}): {mass} in a room of {room} comes to {target}{in_time} "
        f"with a chance of {100 * row.chance:.0f} %."
    )


def _works(asked: Question) -> bool:
    return all(chance_of(leg) >= SURE_FROM for leg in legs(asked, TRIED_BOWLS))


def _remedy(asked: Question) -> str:
    """Return what would make it possible, each tried; else that nothing tried does."""
    found = [
        words
        for words in (_seeded(asked), _colder(asked), _lighter(asked), _stronger(asked))
        if words
    ]
    if not found:
        return "Nothing that was tried makes it possible on this rig."
    return "What would work: " + "; or ".join(found) + "."


def _seeded(asked: Question) -> str:
    if asked.schedule.method != "cooled":
        return ""
    try:
        start = asked.schedule.start
        instead = make(asked.kind, asked.limits, asked.mass_g, "seeded", start)
    except InputError:
        return ""
    works = _works(replace(asked, schedule=instead))
    return "the seeded method, which has no low point" if works else ""


def _colder(asked: Question) -> str:
    """The warmest whole degree that works, sought from where the forecast says that it begins.

    Only a cool step gains by a colder room.
    """
    warmest_c = warmest_room_c(asked.schedule, asked.rig)
    if not math.isfinite(warmest_c):
        return ""
    begin_c = math.ceil(min(asked.room_c - ROOM_STEP_C, warmest_c + ROOM_STEP_C))
    for down in range(ROOMS_TRIED):
        room_c = begin_c - down * ROOM_STEP_C
        if room_c < asked.room_c and _works(replace(asked, room_c=room_c)):
            return f"a room of {show_temperature(round(room_c * 1000))}"
    return ""


def _lighter(asked: Question) -> str:
    mass_g = float(asked.mass_g)
    for _ in range(6):
        mass_g *= LESS
        less_g = int(mass_g // 100 * 100)
        if less_g < 500:
            break
        if _works(replace(asked, schedule=asked.schedule.model_copy(update={"mass_g": less_g}))):
            return f"at most {show_mass(less_g)} at a time"
    return ""


class _Stronger:
    """A rig with another heater."""

    def __init__(self, rig: RigFigures, heater_w: float) -> None:
        self._rig = rig
        self.heater_w = heater_w

    def __getattr__(self, name: str) -> float:
        return float(getattr(self._rig, name))


def _stronger(asked: Question) -> str:
    watts = float(asked.rig.heater_w)
    for _ in range(4):
        watts *= STRONGER
        if _works(replace(asked, rig=_Stronger(asked.rig, watts))):
            return f"a heater of {watts:.0f} W"
    return ""
