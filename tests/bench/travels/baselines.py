"""What a rig usually has: a thermostat, and a PI tuned by a published rule on the true model.

Both have a cut-out on the true plate at the step's wall limit, which flatters them: no rig has it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from simple_pid import PID

from rigfw.pulser import RELAY_WINDOW_MS, SSR_MIN_ON_MS, SSR_WINDOW_MS, Pulser
from travels.label import FAN_MIN_MS, MIN_ON_MS
from travels.lanes import PASS_MS, Second
from travels.plant import Plant
from travels.population import Array
from travels.simc import model_of, simc_pi

BAND_C = 0.5
READ_S, HELD_S = 0.75, 0.5
"""A reading is so old when it is there, and a demand stands for half a second in the mean."""


class Contact:
    """A switch per lane that keeps its shortest times. `on` is 0 or 1."""

    def __init__(self, count: int, min_ms: int) -> None:
        self.on = np.zeros(count)
        self._min_ms = min_ms
        self._same_ms = np.full(count, min_ms)

    def step(self, wanted: NDArray[np.bool_]) -> Array:
        """Return the switch for the pass that begins."""
        turns = (wanted != (self.on > 0.0)) & (self._same_ms >= self._min_ms)
        self.on = np.where(turns, wanted, self.on)
        self._same_ms = np.where(turns, 0, self._same_ms) + PASS_MS
        return self.on


class Thermostat:
    """Heat on half a degree under the target, off at it; the fan on half a degree over, off at it.

    What the step does not need has its band half a degree further off: the two never fight.
    """

    def __init__(self, plant: Plant, actuator: str) -> None:
        count = len(plant.rigs)
        self._heater = Contact(count, MIN_ON_MS[actuator])
        self._fan = Contact(count, FAN_MIN_MS)
        self._wants_heat = np.zeros(count, dtype=bool)
        self._wants_fan = np.zeros(count, dtype=bool)
        self.may_heat = np.ones(count, dtype=bool)

    def demand(self, second: Second) -> None:
        """Judge the new readings."""
        cools = np.array([step.kind == "cool" for step in second.steps])
        over_c = (second.product_mc - second.target_mc) / 1000.0
        fresh = second.is_fresh
        for_heat = over_c + np.where(cools, BAND_C, 0.0)
        for_fan = over_c - np.where(cools, 0.0, BAND_C)
        self._wants_heat |= fresh & (for_heat < -BAND_C)
        self._wants_heat &= ~(fresh & (for_heat >= 0.0)) & ~second.at_rest
        self._wants_fan |= fresh & (for_fan > BAND_C)
        self._wants_fan &= ~(fresh & (for_fan <= 0.0)) & ~second.at_rest

    def switch(self) -> tuple[Array, Array]:
        """Return heater and fan for the next pass."""
        heat = self._heater.step(self._wants_heat & self.may_heat)
        return heat, self._fan.step(self._wants_fan)


class Pi:
    """One `simple_pid.PID` a lane, in W: over 0 it heats, under 0 it drives the fan.

    Its limits are what heater and fan can do at this moment. Against windup the sum stands still
    while the output is at a limit and the error would push it further.
    """

    def __init__(self, plant: Plant, actuator: str) -> None:
        min_ms = MIN_ON_MS[actuator]
        window_ms = RELAY_WINDOW_MS if min_ms >= SSR_MIN_ON_MS else SSR_WINDOW_MS
        count = len(plant.rigs)
        self._plant = plant
        self._heaters = [Pulser(window_ms, min_ms, min_ms) for _ in range(count)]
        self._fans = [Pulser(RELAY_WINDOW_MS, FAN_MIN_MS, FAN_MIN_MS) for _ in range(count)]
        delay_s = READ_S + HELD_S + self._heaters[0].window_ms / 2000.0
        self._pids = [_pid(plant, lane, delay_s) for lane in range(count)]
        self._integral = [pid.Ki for pid in self._pids]
        self._heat = np.zeros(count, dtype=np.int64)
        self._blow = np.zeros(count, dtype=np.int64)
        self.may_heat = np.ones(count, dtype=bool)

    def demand(self, second: Second) -> None:
        """One step of each lane's PI."""
        rigs = self._plant.rigs
        for lane, pid in enumerate(self._pids):
            if second.at_rest[lane]:
                self._heat[lane] = self._blow[lane] = 0
            elif second.is_fresh[lane]:
                now_c = second.product_mc[lane] / 1000.0
                fan_w = rigs.fan_loss_w_per_k[lane] * max(now_c - rigs.room_c[lane], 0.1)
                pid.output_limits = (-fan_w, rigs.heater_w[lane])
                pid.setpoint = second.target_mc[lane] / 1000.0
                pid.Ki = 0.0 if _is_saturated(pid, now_c) else self._integral[lane]
                power_w = pid(now_c, dt=second.passed_ms[lane] / 1000.0)
                self._heat[lane] = int(1000.0 * max(power_w, 0.0) / rigs.heater_w[lane])
                self._blow[lane] = int(1000.0 * max(-power_w, 0.0) / fan_w)

    def switch(self) -> tuple[Array, Array]:
        """Return heater and fan for the next pass."""
        heat = np.where(self.may_heat, self._heat, 0)
        heater = zip(self._heaters, heat, strict=True)
        on = [pulser.step(int(permille), PASS_MS) for pulser, permille in heater]
        fan = zip(self._fans, self._blow, strict=True)
        blows = [pulser.step(int(permille), PASS_MS) for pulser, permille in fan]
        return np.array(on, dtype=float), np.array(blows, dtype=float)


def _is_saturated(pid: PID, now_c: float) -> bool:
    """Proportional part and sum together are at a limit, on the side the error pushes to."""
    low_w, high_w = pid.output_limits
    error_c = pid.setpoint - now_c
    power_w = pid.Kp * error_c + pid.components[1]
    return power_w >= high_w if error_c > 0.0 else power_w <= low_w


def _pid(plant: Plant, lane: int, delay_s: float) -> PID:
    tuning = simc_pi(model_of(plant, lane, delay_s))
    return PID(tuning.gain, tuning.gain / tuning.integral_s, 0.0, sample_time=None)
