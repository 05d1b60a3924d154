"""A healthy run of the campaign: random handling of a batch that the forecast accepts.

Rooms 15 to 35 degC that shift, 0.25 to 6 kg, every kind of probe, noise, offsets to 0.5 K, rigs
with and without tachometer and sense, some above 100 W, a clock that is 1 % off, a host that goes
away and comes back. A room above the low point less 2 degC runs melt and hold only.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from campaign_cases import MASS_G, ROOM_C, STRONG_W
from campaign_world import Faulty
from handling import ROOM_BYTES, Sequence
from handling_cases import Case, parse_handling, script_of, setup_of, shorten
from handling_world import HostTalk

from rigwire import messages
from rigwire.schedule import digest, to_body
from rigwire.views import STOP_KEYS
from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import TYPES, ChocolateType
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.schedules.maker import make
from snapgloss.schedules.model import ScheduleFile
from snapgloss.schedules.outlook import outlook
from snapgloss.schedules.wire import to_wire
from snapgloss.virtual import sensors
from snapgloss.virtual.faults import Fault

LOW_BELOW_K = 2.0
HOT_KINDS = ("melt", "rest")
STARTS = ("liquid", "in_temper", "late_melt")
MINUTES = (15.0, 40.0)
TRIES = 200
SHIFT_K = (-3.0, 3.0)
CLOCK = (0.99, 1.01)
BEAT_MS = 10_000
GAP_S = (20, 120)


@dataclass(frozen=True)
class Healthy:
    """A case of handling, and what else goes on around it."""

    case: Case
    shifts: tuple[Fault, ...]
    clock_factor: float
    gap_ms: tuple[int, int]


class Rejoining(HostTalk):
    """A host that beats, goes away, and comes back with what it knew: a start it asked for."""

    def __init__(self, healthy: Healthy) -> None:
        super().__init__(healthy.case.schedule)
        self._digest = digest(to_body(healthy.case.schedule))
        self._gap_ms = healthy.gap_ms

    def is_away(self, at_ms: int) -> bool:
        """Whether nobody reads the wire."""
        return self._gap_ms[0] <= at_ms < self._gap_ms[1]

    def next_frame(self, at_ms: int) -> bytes:
        """As a host; nothing while it is away."""
        if self.is_away(at_ms):
            return b""
        if at_ms == self._gap_ms[1]:
            self._put("hello", (messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, "campaign"))
            self._put("ask_start", (self._digest,))
        elif at_ms % BEAT_MS == 0 and at_ms > 3000:
            self._put("beat", (at_ms,))
            self._frames.rotate(1)  # a beat that waits its turn would be late
        return super().next_frame(at_ms)


class HealthySequence(Sequence):
    """A sequence of handling in a room that shifts, under a host that comes and goes."""

    def __init__(self, healthy: Healthy) -> None:
        case = healthy.case
        self._rejoining = Rejoining(healthy)
        firmware = Faulty(case.rig.to_config_text(), f"campaign-{case.seed}", healthy.clock_factor)
        super().__init__(case, firmware, self._rejoining)
        for shift in healthy.shifts:
            self.lockstep.faults.add(shift)

    def room_bytes(self) -> int:
        """What the port takes: nothing while nobody reads."""
        return 0 if self._rejoining.is_away(self.lockstep.at_ms) else ROOM_BYTES


def healthy_case(seed: int) -> Healthy:
    """The first batch drawn from this seed that the forecast accepts."""
    for case in _drawn(seed):
        if case is not None:
            chance = random.Random(seed ^ 0xA17)
            begin_s = round(chance.uniform(60.0, case.span_s - 300.0))
            gap_ms = (1000 * begin_s, 1000 * (begin_s + chance.randrange(*GAP_S)))
            noise = Fault("noise_factor", chance.uniform(0.5, 1.5), 0.25, None)
            at_s = chance.uniform(60.0, 600.0)
            shift_k = chance.uniform(SHIFT_K[0], case.spare_k)
            shift = Fault("room_offset_k", shift_k, at_s, at_s + chance.uniform(60.0, 600.0))
            return Healthy(case, (noise, shift), chance.uniform(*CLOCK), gap_ms)
    raise AssertionError(f"the forecast refused {TRIES} batches of seed {seed}")


def _drawn(seed: int) -> Iterator[Case | None]:
    """Batches, and None for one that the forecast refuses."""
    for number in range(TRIES):
        yield _draw(random.Random(f"{seed} {number}"), seed)


def _draw(chance: random.Random, seed: int) -> Case | None:
    chocolate = TYPES[chance.choice(sorted(TYPES))]
    start = chance.choice(STARTS)
    mass_g = round(math.exp(chance.uniform(math.log(MASS_G[0]), math.log(MASS_G[1]))))
    room_c, span_s = chance.uniform(*ROOM_C), 60 * chance.uniform(*MINUTES)
    rig = _rig(chance)
    file = what_fits(_file(chance, chocolate, rig, start, mass_g), room_c)
    if file is None:
        return None
    wired = shorten(chance, to_wire(file), mass_g)
    setup = setup_of(chance, chocolate, start, mass_g, room_c, wired)
    setup = replace(setup, heater_w=float(rig.heater_w), probe_offset_c=chance.uniform(-0.5, 0.5))
    spare_k = _accepted_k(file, rig, room_c, chocolate, setup.begin_c)
    if spare_k is None:
        return None
    acts = parse_handling("; ".join(script_of(chance, start, span_s)))
    kind = chance.choice(sorted(sensors.KINDS))
    return Case(
        seed, setup, rig, chance.random() < 0.6, wired, acts, None, "", span_s, kind, spare_k
    )


def _rig(chance: random.Random) -> RigDescription:
    """The bench rig, described within 15 %; fitted out or not; some above 100 W, with sense."""
    figures = BENCH_RIG.model_dump()
    for name in ("plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k"):
        figures[name] *= chance.uniform(0.85, 1.15)
    for name in ("has_plate", "has_room", "has_tacho", "has_sense"):
        figures[name] = chance.random() < 0.6
    if figures["has_sense"] and chance.random() < 0.4 and figures["has_plate"]:
        figures["heater_w"] = chance.randrange(*STRONG_W)
    return RigDescription(**figures)


def _file(
    chance: random.Random, chocolate: ChocolateType, rig: RigDescription, start: str, mass_g: int
) -> ScheduleFile:
    if start == "in_temper":
        return make(chocolate, rig, mass_g, "kept", "in_temper")
    method = chance.choice(("seeded", "cooled"))
    file = make(chocolate, rig, mass_g, method, "liquid" if start == "liquid" else "solid")
    return file.model_copy(update={"steps": file.steps[2:]}) if start == "liquid" else file


def what_fits(file: ScheduleFile, room_c: float) -> ScheduleFile | None:
    """The whole schedule, or melt and hold where the room is near its low point or above; None
    where nothing is left."""
    low_c = min(step.target_mc for step in file.steps) / 1000
    if room_c <= low_c - LOW_BELOW_K:
        return file
    kept = [step for step in file.steps if step.kind in HOT_KINDS]
    return file.model_copy(update={"steps": kept}) if kept else None


def _accepted_k(
    file: ScheduleFile, rig: RigDescription, room_c: float, chocolate: ChocolateType,
    begin_c: float,
) -> float | None:  # fmt: skip
    """How many K warmer the room may become for the forecast to accept the batch still; None
    where it refuses it, or is not sure of it, as it is."""
    spare_k = None
    for more_k in (0.0, SHIFT_K[1]):
        try:
            found = outlook(file, rig, room_c + more_k, kind=chocolate, begin_c=begin_c)
        except InputError:
            return spare_k
        if found.warnings:
            return spare_k
        spare_k = more_k
    return spare_k


def run_healthy(seed: int, show: bool = False) -> tuple[int, list[str], str]:
    """One healthy run: seed, failures (a warning of what is not wrong is one), why it stopped."""
    healthy = healthy_case(seed)
    sequence = HealthySequence(healthy)
    if show:
        print(healthy.case.words())
        print(healthy.shifts, healthy.clock_factor, healthy.gap_ms)
    outcome = sequence.run()
    events: list[Any] = [one for one in sequence.talk.events() if one.name == "event"]
    warned = [one for one in events if one.get("kind") == "warned"]
    words = [f"false warning {STOP_KEYS[one.get('a')]}" for one in warned]
    return seed, [*outcome.failures, *words], outcome.stop
