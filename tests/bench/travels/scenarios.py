"""What happens to the bowls: the schedule of a batch and the disturbances of each scenario."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rigwire.schedule import Step
from travels.population import Rigs

if TYPE_CHECKING:
    from travels.world import World

FASTEST_MC_PER_MIN = 20_000
"""The travels are held back by heater, fan and walls alone."""
SOFT_WALL_MC = 34_000
WALL_MC = 60_000


def _step(kind: str, target_mc: int, hold_s: int = 0, wall_mc: int = WALL_MC,
          wait_s: int = 0, creep_mc_per_h: int = 0,
          creep_to_mc: int | None = None) -> Step:  # fmt: skip
    rest = (FASTEST_MC_PER_MIN, wall_mc, 0, wait_s, 0, creep_mc_per_h, creep_to_mc)
    return Step(kind, target_mc, hold_s, *rest)


def batch(work_s: int = 3600, creep_mc_per_h: int = 0, creep_to_mc: int = 31_500):
    """Return the usual schedule with so long a work step, whose target may creep."""
    return (
        _step("melt", 48_000, 300),
        _step("cool", 28_000, 300),
        _step("rewarm", 31_500, 0, SOFT_WALL_MC),
        _step("work", 31_500, work_s, SOFT_WALL_MC, 0, creep_mc_per_h, creep_to_mc),
    )


SEEDED = (
    _step("melt", 48_000, 300),
    _step("cool", 33_500),
    _step("seed", 33_500, 0, SOFT_WALL_MC, wait_s=240),
    _step("rewarm", 31_500, 180, SOFT_WALL_MC),
    _step("work", 31_500, 3600, SOFT_WALL_MC),
)
SEED_AFTER_S = 60
"""How long a person takes to stir in the seed."""
SEED_C = 22.0
ROOM_MOVES_C = 4.0
POUR_FROM_S, POUR_TO_S, POURED_SHARE = 600, 3000, 0.85


def _nothing(world: World) -> None:
    """Nothing happens."""


def _same(rigs: Rigs) -> Rigs:
    return rigs


@dataclass(frozen=True)
class Scenario:
    """`rigs` changes what the rigs are, label and all; `begin` and `second` act on a run."""

    name: str
    words: str
    steps: tuple[Step, ...] = batch()
    rigs: Callable[[Rigs], Rigs] = _same
    begin: Callable[[World], None] = _nothing
    second: Callable[[World], None] = _nothing
    room_moves_c: float = 0.0


def pour(world: World) -> None:
    """In work the bowl is emptied to 15 % of its mass between minutes 10 and 50."""
    progress, plant = world.progress, world.plant
    working = progress.of_kind("work")
    if not working.any():
        return
    share = np.clip((progress.passed_s - POUR_FROM_S) / (POUR_TO_S - POUR_FROM_S), 0.0, 1.0)
    first_kg = plant.rigs.mass_kg
    plant.pour(np.where(working, first_kg * (1.0 - POURED_SHARE * share), plant.mass_kg))


def _seed(world: World, is_told: bool) -> None:
    """Seed goes in 60 s after the seeding temperature; told, the next target is set at once."""
    progress, plant, rigs = world.progress, world.plant, world.plant.rigs
    now = progress.of_kind("seed") & progress.reached & (progress.held_s == SEED_AFTER_S)
    if now.any():
        seed_kg = rigs.seed_share * rigs.mass_kg
        plant.add_seed(now, seed_kg, np.full(len(now), SEED_C))
        if is_told:
            progress.go_on(now)
            _tell(world, now, seed_kg)
    pour(world)


def _tell(world: World, now, seed_kg) -> None:
    for lane in np.flatnonzero(now):
        group, at = divmod(int(lane), world.rigs_per_group)
        tell = getattr(world.groups[group].controller, "tell_added", None)
        if tell:
            tell(at, round(1000 * seed_kg[lane]))


def _seed_told(world: World) -> None:
    _seed(world, True)


def _seed_untold(world: World) -> None:
    _seed(world, False)


def _room_moves(world: World) -> None:
    """4 K up or down in 30 minutes, from the beginning of the cooling on."""
    cooled = ~world.progress.of_kind("melt")
    moved = ROOM_MOVES_C / 1800.0 * np.sign(world.plant.rigs.room_step_c) * cooled
    room_c = world.plant.room_c + moved
    bound_c = world.plant.rigs.room_c
    world.plant.room_c = np.clip(room_c, bound_c - ROOM_MOVES_C, bound_c + ROOM_MOVES_C)
    pour(world)


def _other_fan(world: World) -> None:
    """On the second run the fan is not the one that was learned."""
    factor = np.where(world.is_second_run, world.plant.rigs.fan_factor, 1.0)
    world.plant.fan_loss_w_per_k = world.plant.rigs.fan_loss_w_per_k * factor


def _lid(world: World) -> None:
    """A lid from minute 5 to 25 of work takes 60 % off the chocolate's own loss."""
    passed_s = world.progress.passed_s
    lid = world.progress.of_kind("work") & (passed_s >= 300) & (passed_s < 1500)
    open_w_per_k = world.plant.rigs.product_loss_w_per_k
    world.plant.product_loss_w_per_k = np.where(lid, 0.4 * open_w_per_k, open_w_per_k)
    pour(world)


def _stirrer_stops(world: World):
    """Two minutes without stirrer, 15 minutes into work: a third of the coupling is left."""
    passed_s = world.progress.passed_s
    still = world.progress.of_kind("work") & (passed_s >= 900) & (passed_s < 1020)
    world.plant.coupling_share = np.where(still, 1.0 / 3.0, 1.0)
    pour(world)
    return still


def _pedal_told(world: World) -> None:
    world.hands = _stirrer_stops(world)


def _pedal_untold(world: World) -> None:
    _stirrer_stops(world)


def _warm(world: World) -> None:
    """A second batch on a plate still hot: the bowl starts half melted at 30 degC."""
    plant = world.plant
    plant.plate_c[:] = 45.0
    plant.product_c[:] = plant.probe_c[:] = plant.second_c[:] = 30.0
    plant.latent.solid *= 0.5


def _thickens(world: World) -> None:
    """Over two hours of work the coupling falls to 60 %, nothing is poured."""
    progress = world.progress
    part = np.clip(progress.passed_s / 7200.0, 0.0, 1.0) * progress.of_kind("work")
    world.plant.coupling_share = 1.0 - 0.4 * part


def _changed(**factors: float) -> Callable[[Rigs], Rigs]:
    return lambda rigs: rigs.scaled(**factors)


def _big(rigs: Rigs) -> Rigs:
    """12 kg on the rig of its size: every figure that goes with the mass is scaled by it."""
    by = 12.0 / rigs.mass_kg
    grown = {name: getattr(rigs, name) * by**power for name, power in (
        ("heater_w", 0.6), ("plate_j_per_k", 0.5), ("coupling_w_per_k", 0.6),
        ("product_loss_w_per_k", 0.5),
    )}  # fmt: skip
    return Rigs(**{**vars(rigs), **grown, "mass_kg": by * rigs.mass_kg})


SCENARIOS = {
    scenario.name: scenario
    for scenario in (
        Scenario("default", "a batch with pouring", second=pour),
        Scenario("seed_told", "seed at 33.5, told", SEEDED, second=_seed_told),
        Scenario("seed_untold", "seed at 33.5, not told", SEEDED, second=_seed_untold),
        Scenario("room", "the room moves by 4 K in 30 min", second=_room_moves,
                 room_moves_c=ROOM_MOVES_C),
        Scenario("fan", "a fan of 40 to 150 % of the learned", begin=_other_fan, second=pour),
        Scenario("lid", "a lid for 20 min", second=_lid),
        Scenario("pedal_told", "hands in the bowl for 2 min", second=_pedal_told),
        Scenario("pedal_untold", "stirrer off for 2 min", second=_pedal_untold),
        Scenario("warm", "a second batch on a hot plate", begin=_warm, second=pour),
        Scenario("hold", "2 h of work, thickening", batch(7200), second=_thickens),
        Scenario("creep", "2 h of work, thickening, 31.5 creeps to 32",
                 batch(7200, 300, 32_000), second=_thickens),
        Scenario("heater_x2", "a heater of twice the power", rigs=_changed(heater_w=2.0),
                 second=pour),
        Scenario("coupling_half", "half the coupling", rigs=_changed(coupling_w_per_k=0.5),
                 second=pour),
        Scenario("room_10", "a room of 10", rigs=lambda rigs: rigs.fixed(room_c=10.0),
                 second=pour),
        Scenario("mass_12", "12 kg", rigs=_big, second=pour),
    )
}  # fmt: skip
OUTSIDE = ("heater_x2", "coupling_half", "room_10", "mass_12")
