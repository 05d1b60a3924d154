"""One run of many lanes through a schedule, second by second, and its trace.

A second of the rig: conversions begin, passes of 250 ms follow; 750 ms later (a DS18B20 at 12
bits, its data sheet) the values are there, the regulators decide and the schedule moves on.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rigwire.messages import MISSING_MC
from travels.lanes import Controller, Progress, Second
from travels.plant import STEPS, Plant, joined
from travels.population import Array, Common

if TYPE_CHECKING:
    from travels.scenarios import Scenario

LONGEST_RUN_S = 16 * 3600
BLOCK_S = 4096
READ_AT = 3
"""The pass of a second in which its readings are there."""
TRACED = ("product_c", "plate_c", "reading_c", "heat", "fan", "seed", "starts", "no", "mass_kg",
          "risen_c")  # fmt: skip


@dataclass
class Group:
    """Lanes of one controller. `run` 1 on a rig nobody knows, 2 after that."""

    name: str
    controller: Controller
    run: int


@dataclass
class Trace:
    """What happened, one row a second, one column a lane. `begun` holds the plants as they were
    when each step began, by step index, one a lane."""

    product_c: NDArray[np.float32]
    plate_c: NDArray[np.float32]
    reading_c: NDArray[np.float32]
    heat: NDArray[np.float32]
    fan: NDArray[np.float32]
    seed: NDArray[np.float32]
    starts: NDArray[np.float32]
    no: NDArray[np.float32]
    mass_kg: NDArray[np.float32]
    risen_c: NDArray[np.float32]
    begun: dict[int, Plant] = field(default_factory=dict)


class World:
    """`scenario` decides steps and disturbances; every group has a lane for each rig."""

    def __init__(self, plant: Plant, scenario: Scenario, groups: list[Group], common: Common,
                 seed: int) -> None:  # fmt: skip
        self.rigs_per_group = len(plant.rigs)
        self.groups, self.scenario, self.common = groups, scenario, common
        self.plant = joined([plant] * len(groups))
        count = len(self.plant.rigs)
        self.progress = Progress(scenario.steps, count)
        self.is_second_run = np.repeat([group.run > 1 for group in groups], self.rigs_per_group)
        self.hands = np.zeros(count, dtype=bool)
        self.power_share = np.ones(count)
        self.at_s = 0
        self._random = [
            np.random.default_rng([seed, int(number), group.run, 1])
            for group in groups
            for number in plant.rigs.number
        ]
        self._silent_s = np.zeros(count, dtype=np.int64)
        self._was_on = np.zeros(count)
        self._begun: dict[int, list[tuple[int, Plant]]] = {}
        scenario.begin(self)

    def run(self) -> Trace:
        """Return the trace of the whole run."""
        rows: dict[str, list[NDArray[np.float32]]] = {name: [] for name in TRACED}
        while not self.progress.is_done.all() and self.at_s < LONGEST_RUN_S:
            self._keep_begun()
            row = self._second()
            for name in TRACED:
                rows[name].append(row[name].astype(np.float32))
        return Trace(**{name: np.array(rows[name]) for name in TRACED}, begun=self._all_begun())

    def _second(self) -> dict[str, Array]:
        no, risen_c = self.progress.no, self.progress.risen_mc / 1000.0
        self.scenario.second(self)
        self.plant.begin_second()
        supply_w = self._supply_w()
        readings = self._convert()
        heat_sum, fan_sum, starts = np.zeros(len(no)), np.zeros(len(no)), np.zeros(len(no))
        for at in range(STEPS):
            if at == READ_AT:
                self._decide(readings)
            heat, fan = self._switch()
            starts += heat > self._was_on
            self._was_on = heat
            heat_sum += heat
            fan_sum += fan
            self.plant.step(heat * supply_w, fan)
        self.at_s += 1
        plant = self.plant
        return {
            "product_c": plant.product_c, "plate_c": plant.plate_c,
            "reading_c": readings.product_mc / 1000.0, "heat": heat_sum / STEPS,
            "fan": fan_sum / STEPS, "seed": plant.latent.n / np.maximum(plant.latent.peak_n, 1e-5),
            "starts": starts, "no": no, "mass_kg": plant.mass_kg,
            "risen_c": risen_c,
        }  # fmt: skip

    def _supply_w(self) -> Array:
        """What the heaters draw while they are on: the label, and the mains as they wander."""
        wander = self.common.mains_share * np.sin(self._mains_turn())
        return self.plant.rigs.heater_w * (1.0 + wander) * self.power_share

    def _mains_turn(self) -> Array:
        """Where the mains are in their wandering now, rad."""
        rigs = self.plant.rigs
        turn = 2.0 * np.pi * self.at_s / rigs.mains_period_s + rigs.mains_phase
        return turn + 2.0 * self.is_second_run

    def _convert(self) -> Second:
        """The readings of this second's conversions, and which of them came through."""
        plant, common = self.plant, self.common
        at = self.at_s % BLOCK_S
        if at == 0:
            self._noise = np.array([one.standard_normal((BLOCK_S, 3)) for one in self._random])
            self._luck = np.array([one.random(BLOCK_S) for one in self._random])
        noise = common.noise_c * self._noise[:, at, :]
        is_fresh = self._luck[:, at] >= common.lost_share
        self._silent_s += 1
        passed_ms = 1000 * self._silent_s
        self._silent_s = np.where(is_fresh, 0, self._silent_s)
        missing = np.full(len(is_fresh), MISSING_MC)
        plate_mc = self._steps_mc(plant.plate_c + noise[:, 1])
        room_mc = self._steps_mc(plant.room_c + noise[:, 2])
        return Second(
            product_mc=self._steps_mc(plant.second_c + plant.rigs.offset_c + noise[:, 0]),
            plate_mc=plate_mc if common.has_plate_probe else missing,
            room_mc=room_mc if common.has_room_probe else missing,
            is_fresh=is_fresh,
            passed_ms=passed_ms,
            at_rest=self.hands,
            is_done=self.progress.is_done,
            target_mc=self.progress.target_mc,
            steps=[],
        )

    def _steps_mc(self, at_c: Array) -> NDArray[np.int64]:
        step_c = self.common.step_c
        return (np.floor(at_c / step_c + 0.5) * step_c * 1000.0).astype(np.int64)

    def _decide(self, readings: Second) -> None:
        progress = self.progress
        readings.is_done, readings.target_mc = progress.is_done, progress.target_mc
        readings.at_rest = self.hands | readings.is_done
        last = len(progress.steps) - 1
        readings.steps = [progress.steps[min(no, last)] for no in progress.no]
        for at, group in enumerate(self.groups):
            begin = at * self.rigs_per_group
            group.controller.demand(readings.part(begin, begin + self.rigs_per_group))
        progress.tick(readings.product_mc, readings.is_fresh & ~self.hands)

    def _switch(self) -> tuple[Array, Array]:
        wall_c = self.progress.wall_mc / 1000.0 - self.plant.rigs.offset_c
        may_heat = self.plant.plate_c < wall_c
        for at, group in enumerate(self.groups):
            if hasattr(group.controller, "may_heat"):
                begin = at * self.rigs_per_group
                group.controller.may_heat = may_heat[begin : begin + self.rigs_per_group]
        pairs = [group.controller.switch() for group in self.groups]
        heat = np.concatenate([pair[0] for pair in pairs])
        return heat, np.concatenate([pair[1] for pair in pairs])

    def _keep_begun(self) -> None:
        """Lanes whose step is new: their state, for the bound."""
        for lane in np.flatnonzero(self.progress.is_new & ~self.progress.is_done):
            state = (int(lane), self._from_now(lane))
            self._begun.setdefault(int(self.progress.no[lane]), []).append(state)
        self.progress.is_new[:] = False

    def _from_now(self, lane: np.intp) -> Plant:
        """This lane's plant, with its mains as they will wander from this second on."""
        plant = self.plant.copied(np.array([lane]))
        rigs = plant.rigs
        plant.rigs = replace(
            rigs,
            heater_w=rigs.heater_w * self.power_share[lane],
            mains_phase=self._mains_turn()[lane : lane + 1],
        )
        return plant

    def _all_begun(self) -> dict[int, Plant]:
        ordered = {
            no: sorted(states, key=lambda one: one[0]) for no, states in self._begun.items()
        }
        return {no: joined([plant for _, plant in states]) for no, states in ordered.items()}
