"""One fault in one healthy hold: hazard, onset, step, room, mass, fittings, all from a seed."""

import math
import random
from dataclasses import dataclass

from campaign_table import (
    BY_HEAT,
    DEAD_UNDER_SET,
    INJECTIONS,
    OUT_BY_HEAT,
    OUT_BY_WARMTH,
    Injection,
)  # fmt: skip

from rigwire.schedule import Schedule, Step
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.virtual.faults import Fault
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.sensors import KINDS

WALL_HOT_MC = 60_000
WALL_MC = 34_000  # of dark chocolate with crystals in it
TARGET_MC = {"melt": 48_000, "rest": 48_000, "cool": 31_000, "seed": 33_500}
USUAL_TARGET_MC = 31_500
ROOM_C = (15.0, 35.0)
ROOM_BELOW_K = {"cool": 3.0, "seed": 1.5, "rewarm": 1.5, "work": 1.5}
"""A room so near the target, or warmer, is none for this step: no fan cools there."""
MASS_G = (250.0, 6000.0)
STRONG_W = (120, 300)
HEAVY_W, MOST_W_PER_J_PER_K = (300, 1000), 5 / 3
"""Of a strong rig; more than this a description does not let a heater have over its plate."""
SLOW_S = {"plate_hot": 420.0, "chocolate_hot": 240.0, BY_HEAT: 300.0, OUT_BY_WARMTH: 600.0}
"""Seconds from the onset, where the harm needs some to come: nothing is bounded by these."""
REFUSAL_S = 120.0
CREEP_S = 90.0
HEAVY_K, MOST_J_PER_G_K = 1.5, 2.0
SET_PART = 0.25
"""Of the coupling over set chocolate, the least (0.25 to 0.5, assumption)."""
GAP_PART, GAP_S, LOSS_WIDER, COLD_C, SET_C = 0.5, 30.0, 1.5, 15.0, 33.0
"""What hazards.toml states of the plate's check, and the doubt about the loss that it allows."""
OFFSET_K, LEAST_GAP_K = 0.5, 0.25


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
    probe_kind: str
    draughts: tuple[Fault, ...]

    @property
    def hazard(self) -> str:
        """The key in hazards.toml."""
        return self.injection.hazard

    @property
    def row(self) -> str:
        """Which row of the campaign's table it belongs to."""
        name = self.injection.name
        return OUT_BY_HEAT if name == "probe_out" and self._is_slow else name

    @property
    def _is_slow(self) -> bool:
        """Whether seed is due, or the heat of 1.5 K takes longer than the bound of a lighter bowl:
        hazards.toml bounds these by the heat."""
        return (
            self.step == "seed" or self.heat_j_per_k * HEAVY_K / self.rig.heater_w > self.bound_s
        )

    @property
    def heat_j_per_k(self) -> float:
        """What bowl and plate hold, at the most."""
        return MOST_J_PER_G_K * self.setup.mass_g + self.rig.plate_j_per_k

    @property
    def is_boot(self) -> bool:
        """True for what is wrong before the rig has its power."""
        return self.injection.begin == "boot"

    def does(self, act: str) -> bool:
        """Whether this act of program, host or person is in it."""
        return act in self.injection.acts

    @property
    def end_s(self) -> float:
        """When all must be over."""
        slow_s = CREEP_S if self.does("creep") else SLOW_S.get(self.row, 0.0)
        return self.onset_s + max(self.bound_s, slow_s)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Those that the plant or the panel knows, the draughts of the room among them."""
        begin_s = None if self.is_boot else self.onset_s
        wrong = (Fault(name, value, begin_s, None) for name, value in self.injection.faults)
        return (*wrong, *self.draughts)

    def words(self) -> str:
        """For a person who replays it."""
        what = [f"{name}={value}" for name, value in self.injection.faults]
        begin = "from the boot" if self.is_boot else f"at {self.onset_s:g} s"
        fitted = [name for name in ("plate", "room", "tacho", "sense") if self._has(name)]
        return (
            f"seed {self.seed}: {self.row} by {', '.join([*what, *self.injection.acts])} {begin}, "
            f"{self.step}, {self.probe_kind}, {self.setup.mass_g:.0f} g, {self.rig.heater_w} W, "
            f"{' '.join(fitted)}, room {self.setup.room_c:.1f} C, from {self.setup.start_c:.1f} C"
        )

    def _has(self, name: str) -> bool:
        return bool(getattr(self.rig, f"has_{name}"))


def fault_case(seed: int, bounds_s: dict[str, float]) -> FaultCase:
    """The case of a seed: always the same one. `bounds_s` by hazard."""
    injection = INJECTIONS[seed % len(INJECTIONS)]
    chance = random.Random(seed)
    step = chance.choice(injection.steps)
    mass_g = math.exp(chance.uniform(math.log(MASS_G[0]), math.log(MASS_G[1])))
    if "strong" in injection.acts:
        mass_g = chance.uniform(250, 600)
    target_mc = TARGET_MC.get(step, USUAL_TARGET_MC)
    room_c = _room_c(chance, injection, step, target_mc / 1000)
    rig = _rig(chance, injection)
    setup = PlantSetup(
        mass_g=mass_g,
        heater_w=float(rig.heater_w),
        room_c=room_c,
        start_c=_start_c(chance, injection, step, target_mc / 1000),
        solid="cold" in injection.acts,
        start_v=0.01 if step in ("rewarm", "work") else 0.0,
        probe_offset_c=chance.uniform(-0.5, 0.5),
        probe_lag_s=chance.uniform(5.0, 12.0),
        seed=chance.randrange(1, 1_000_000),
    )
    return FaultCase(
        seed,
        injection,
        step,
        setup,
        rig,
        _schedule(injection, step, target_mc, round(mass_g)),
        _onset_s(chance, injection),
        _bound_s(injection, bounds_s[injection.hazard], setup, rig),
        chance.choice(sorted(KINDS)),
        _draughts(chance),
    )


def _bound_s(
    injection: Injection, bound_s: float, setup: PlantSetup, rig: RigDescription
) -> float:
    if injection.row == DEAD_UNDER_SET:
        return max(bound_s, cooling_s(setup, rig))
    return bound_s + (rig.attended_limit_s if _is_left(injection) else 0)


def cooling_s(setup: PlantSetup, rig: RigDescription) -> float:
    """How long a plate that was as hot as it can be over set chocolate hides that its heater died.

    Until it is hotter than the chocolate by half only of what all heat, less the greatest loss,
    makes it under stirred chocolate; and GAP_S.
    """
    set_w_per_k = SET_PART * setup.plate_w_per_k
    lost_w = LOSS_WIDER * rig.loss_w_per_k * (SET_C - COLD_C)
    gap_k = GAP_PART * (rig.heater_w - lost_w) / rig.plate_w_per_k - OFFSET_K
    hottest_k = min(setup.heater_w / set_w_per_k, WALL_HOT_MC / 1000 - setup.begin_c)
    lasts_s = setup.plate_j_per_k / set_w_per_k
    return GAP_S + lasts_s * math.log(hottest_k / max(gap_k, LEAST_GAP_K))


def _is_left(injection: Injection) -> bool:
    return injection.hazard == "unattended"


def _onset_s(chance: random.Random, injection: Injection) -> float:
    """A minute and more after the start; at once where it is wrong from the boot."""
    latest_s = 60.0 if "climbing" in injection.acts else 180.0
    settled_s = 63 + round(chance.uniform(0.0, latest_s) * 4) / 4
    return 0.0 if injection.begin == "boot" else settled_s


def _room_c(chance: random.Random, injection: Injection, step: str, target_c: float) -> float:
    most_c = min(ROOM_C[1], target_c - ROOM_BELOW_K.get(step, 0.0))
    if "warm_room" in injection.acts:  # its air is nearly what the chocolate is
        return most_c - chance.uniform(0.0, 1.0)
    if "bare" in injection.acts:
        most_c = 22.0
    return chance.uniform(ROOM_C[0], most_c)


def _start_c(chance: random.Random, injection: Injection, step: str, target_c: float) -> float:
    """Near the target for a hold, below it for a climb, above it for a cool."""
    if "fed_hot" in injection.acts:
        return chance.uniform(56.0, 59.0)
    if "bare" in injection.acts:  # as the room is: nothing was heated since the night
        return chance.uniform(20.0, 22.5)
    if "cold" in injection.acts:
        return chance.uniform(26.0, 29.0)
    if step == "cool":
        return target_c + chance.uniform(3.0, 8.0)
    below_k = {"melt": chance.uniform(4.0, 8.0), "rewarm": chance.uniform(2.0, 4.0)}
    climb_k = 3.0 if "climbing" in injection.acts else 0.0
    return target_c - below_k.get(step, chance.uniform(0.0, 0.3)) - climb_k


def _rig(chance: random.Random, injection: Injection) -> RigDescription:
    """The bench rig, described as well as people identify: each figure within 15 %. Every other
    is fitted out, and some have more than 100 W."""
    needs = injection.needs
    figures = BENCH_RIG.model_dump()
    for name in ("plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k"):
        figures[name] *= chance.uniform(0.85, 1.15)
    figures["probe_lag_s"] *= chance.uniform(0.85, 1.15)
    has_plate = "has_plate" in needs or chance.random() < 0.7
    figures["has_plate"] = has_plate and "no_plate" not in needs
    figures["has_room"] = chance.random() < 0.7
    figures["has_tacho"] = "has_tacho" in needs or chance.random() < 0.5
    has_sense = "has_sense" in needs or chance.random() < 0.5
    figures["has_sense"] = has_sense and "no_sense" not in needs
    may_be_strong = figures["has_sense"] and chance.random() < 0.5 and figures["has_plate"]
    if may_be_strong and "weak" not in injection.acts:
        figures["heater_w"] = chance.randrange(*STRONG_W)
    if "strong" in injection.acts:
        most_w = int(int(figures["plate_j_per_k"]) * MOST_W_PER_J_PER_K)
        figures["heater_w"] = min(chance.randrange(*HEAVY_W), most_w)
    if _is_left(injection):
        figures["attended_limit_s"] = 300
    if "high_wall" in injection.acts:  # a rig whose own limit lies under the schedule's
        figures["plate_ceiling_c"] = 60.0
    if "bypassed" in injection.acts:
        figures["checks_off"] = ("heat_balance",)
    if "absurd" in injection.acts:
        figures["ceiling_c"] = 50.0
    return RigDescription(**figures)


def _draughts(chance: random.Random) -> tuple[Fault, ...]:
    """In every other run a door or an oven moves the room's air for a while; some more noise."""
    found = []
    if chance.random() < 0.5:
        begin_s = chance.uniform(5.0, 120.0)
        shift_k = chance.uniform(-6.0, 3.0)
        found.append(Fault("room_offset_k", shift_k, begin_s, begin_s + chance.uniform(30, 300)))
    found.append(Fault("noise_factor", chance.uniform(0.5, 1.5), 0.25, None))
    return tuple(found)


def _schedule(injection: Injection, step: str, target_mc: int, mass_g: int) -> Schedule:
    wall_mc = WALL_HOT_MC if step in ("melt", "rest", "cool") else WALL_MC
    if "high_wall" in injection.acts:
        wall_mc = 75_000
    only = Step(step, target_mc, 7200, 1000, wall_mc, 0, 0, 0)
    start = "in_temper" if step in ("rewarm", "work") else "liquid"
    return Schedule("Lantern 72 one step", "kept", start, mass_g, 55_000, (only,))
