"""One fault in one healthy hold: hazard, onset, step, room, mass, fittings, all from a seed."""

import math
import random
from dataclasses import dataclass

from rigwire.schedule import Schedule, Step
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.virtual.faults import Fault
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.sensors import KINDS

STEPS = ("melt", "rest", "seed", "rewarm", "work")
WALL_MC = 34_000  # of dark chocolate with crystals in it


@dataclass(frozen=True)
class Injection:
    """How a hazard of hazards.toml is made to happen. `needs` are fittings of the rig."""

    hazard: str
    faults: tuple[tuple[str, float | bool], ...]
    steps: tuple[str, ...] = STEPS
    needs: tuple[str, ...] = ()


BY_HEAT = "switch_shorted (no sense)"
WILD = ("wild", True)
"""From the onset on the regulator demands everything: the checks must hold without its help."""

INJECTIONS = (
    Injection("probe_missing", (("probe_missing", True),)),
    Injection("probe_range", (("probe_forced_c", 85.0), WILD)),
    Injection("probe_range", (("probe_forced_c", 0.0), WILD)),
    Injection("probe_jump", (("probe_shift_k", 9.0), WILD)),
    Injection("probe_jump", (("probe_shift_k", -9.0), WILD)),
    Injection("plate_missing", (("plate_probe_missing", True),), needs=("has_plate",)),
    Injection("plate_hot", (("coupling_factor", 0.03), WILD), needs=("has_plate",)),
    Injection("no_rise", (("heater_dead", True),), ("melt",), ("has_plate",)),
    Injection("chocolate_hot", (WILD,), ("rest", "rewarm", "work")),
    Injection("probes_swapped", (("probes_swapped", True),), ("melt",), ("has_plate",)),
    Injection("stop_loop", (("stop_open", True),)),
    Injection("unattended", (("nobody", True),)),
    Injection("switch_shorted", (("heater_shorted", True),), needs=("has_sense",)),
    Injection("switch_shorted", (("heater_shorted", True),), ("rewarm", "work"), ("has_plate",)),
    Injection("probe_out", (("probe_out", True),), ("rewarm", "work"), ("has_plate",)),
    Injection("stuck_reading", (("reading_stuck", True), WILD), ("rewarm",), ("has_plate",)),
    Injection("stirrer_jam", (("stirrer_stalled", True),), needs=("has_tacho",)),
    Injection("frozen_program", (("frozen", True),)),
)


@dataclass(frozen=True)
class FaultCase:
    """One run. `onset_s` after the press of start; `bound_s` of the hazard, from hazards.toml."""

    seed: int
    injection: Injection
    step: str
    setup: PlantSetup
    rig: RigDescription
    schedule: Schedule
    onset_s: float
    bound_s: float
    probe_kind: str = "ds18b20"

    @property
    def is_shorted_unsensed(self) -> bool:
        """A shorted switch that only its heat can tell of."""
        return self.injection.hazard == "switch_shorted" and not self.rig.has_sense

    @property
    def end_s(self) -> float:
        """When all must be over, and a minute more is looked at."""
        return self.onset_s + max(self.bound_s, SLOW_S.get(self.row, 0.0))

    @property
    def row(self) -> str:
        """Which row of the campaign's table it belongs to."""
        return BY_HEAT if self.is_shorted_unsensed else self.injection.hazard

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Those that the plant or the panel knows."""
        return tuple(
            Fault(name, value, self.onset_s, None)
            for name, value in self.injection.faults
            if name not in ("nobody", "frozen", "wild")
        )

    def words(self) -> str:
        """For a person who replays it."""
        names = ", ".join(f"{name}={value}" for name, value in self.injection.faults)
        return (
            f"seed {self.seed}: {self.injection.hazard} by {names} at {self.onset_s:g} s, "
            f"{self.step}, {self.probe_kind}, {self.setup.mass_g:.0f} g, "
            f"room {self.setup.room_c:.1f} C, from {self.setup.start_c:.1f} C"
        )


def fault_case(seed: int, bounds_s: dict[str, float]) -> FaultCase:
    """The case of a seed: always the same one. `bounds_s` by hazard."""
    injection = INJECTIONS[seed % len(INJECTIONS)]
    chance = random.Random(seed)
    step = chance.choice(injection.steps)
    mass_g = math.exp(chance.uniform(math.log(250), math.log(3000)))
    room_c = chance.uniform(15.0, 27.0 if step in ("rewarm", "work", "seed") else 35.0)
    target_mc, start_c = _temperatures(chance, step)
    rig = _rig(chance, injection)
    latest_s = 180.0
    if injection.hazard == "stuck_reading":  # on the way up, where a repeated value asks for heat
        start_c, latest_s = start_c - 3.0, 60.0
    setup = PlantSetup(
        mass_g=mass_g,
        room_c=room_c,
        start_c=start_c,
        solid=False,
        start_v=0.01 if step in ("rewarm", "work") else 0.0,
        probe_offset_c=chance.uniform(-0.5, 0.5),
        probe_lag_s=chance.uniform(5.0, 12.0),
        seed=chance.randrange(1, 1_000_000),
    )
    schedule = _schedule(step, target_mc, round(mass_g))
    onset_s = 63 + round(chance.uniform(0.0, latest_s) * 4) / 4
    bound_s = bounds_s[injection.hazard]
    if injection.hazard == "unattended":
        bound_s += rig.attended_limit_s
    probe_kind = chance.choice(sorted(KINDS))
    return FaultCase(seed, injection, step, setup, rig, schedule, onset_s, bound_s, probe_kind)


SLOW_S = {"plate_hot": 420.0, "chocolate_hot": 240.0, BY_HEAT: 300.0}
"""Seconds from the onset, where the harm needs some to come: nothing is bounded by these."""


def _temperatures(chance: random.Random, step: str) -> tuple[int, float]:
    target_mc = {"melt": 48_000, "rest": 48_000, "seed": 33_500}.get(step, 31_500)
    below_k = {"melt": chance.uniform(4.0, 8.0), "rewarm": chance.uniform(2.0, 4.0)}
    return target_mc, target_mc / 1000 - below_k.get(step, chance.uniform(0.0, 0.3))


def _rig(chance: random.Random, injection: Injection) -> RigDescription:
    """The bench rig, described as well as people identify: each figure within 15 %."""
    figures = BENCH_RIG.model_dump()
    for name in ("plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k"):
        figures[name] *= chance.uniform(0.85, 1.15)
    figures["probe_lag_s"] *= chance.uniform(0.85, 1.15)
    figures["has_plate"] = "has_plate" in injection.needs or chance.random() < 0.7
    figures["has_room"] = chance.random() < 0.7
    figures["has_tacho"] = "has_tacho" in injection.needs
    figures["has_sense"] = "has_sense" in injection.needs
    if injection.hazard == "unattended":
        figures["attended_limit_s"] = 300
    return RigDescription(**figures)


def _schedule(step: str, target_mc: int, mass_g: int) -> Schedule:
    wall_mc = 60_000 if step in ("melt", "rest") else WALL_MC
    only = Step(step, target_mc, 7200, 1000, wall_mc, 0, 0, 0)
    start = "in_temper" if step in ("rewarm", "work") else "liquid"
    return Schedule("Lantern 72 one step", "kept", start, mass_g, 55_000, (only,))
