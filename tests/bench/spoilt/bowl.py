"""Many bowls from the melt to the last bar, one lane each, and what their rigs recorded.

    plate     C dTp/dt = heat - h (Tp - T) - fan (Tp - room)
    chocolate m c dT/dt = h (Tp - T) - loss (T - room) + stirring + crystals

Steps go on as on the rig: by the probe, which may read wrong, or because a person presses on.
A time limit ends a cooling that does not arrive. Three seconds a step.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.observer import BULK_SHARE, SWAP_S, SWAP_STILL_S, WALL_SHARE
from snapgloss.quality.observe_run import WALL_OF_PLATE
from spoilt.crystal_lanes import CrystalLanes, swap
from spoilt.draw import Array, Batches, Random

STEP_S = 3.0
STATES = ("melting", "resting", "cooling", "seeding", "rewarming", "working", "finished")
MELT, REST, COOL, SEED, REWARM, WORK, END = range(7)
PLATE_J_PER_K, STIR_W = 300.0, 2.0
STILL_SHARE = 0.3
"""Of the coupling that is left without stirring (assumption)."""
REST_MIN, COOL_MOST_MIN, SEED_MIN, REWARM_MOST_MIN = 10.0, 30.0, 6.0, 15.0
REWARM_C_PER_MIN = 0.8
AFTER_MIN = 4.0
SEED_OF_BOWL, SEED_STABLE, SEED_C = 0.06, 0.38, 20.0
SEED_WAIT_S = 60
LAG_S, NOISE_K = 8.0, 0.03
PLATE_OVER_K = 1.5
"""So far over the wall's limit the rig lets its plate go in the rewarm and in work."""


class Recorded:
    """What the rigs wrote down: rows of steps, a column for each batch."""

    def __init__(self) -> None:
        self.rows: list[tuple[Array, ...]] = []

    def column(self, at: int) -> NDArray[np.float64]:
        """One quantity of all batches."""
        return np.array([row[at] for row in self.rows])


PRODUCT, PLATE, ROOM, HEAT, FAN, STIR, STATE, TARGET = range(8)


class Bowls:
    """All lanes; `crystals` is the bulk. Call `run` once."""

    def __init__(self, made: Batches, random: Random) -> None:
        self.made, self.random = made, random
        count = len(made)
        self.phase, self.since_s = np.zeros(count, dtype=int), np.zeros(count)
        self.product_c, self.plate_c = np.full(count, 42.0), np.full(count, 44.0)
        self.probe_c = self.product_c + made.probe_k
        self.depression_k = made.of(lambda kind: kind.depression_k)
        self.cp_j_per_k = made.mass_kg * made.of(lambda kind: kind.specific_heat)
        self.fat_kg = made.mass_kg * made.of(lambda kind: kind.fat_share)
        nothing = np.zeros(count)
        rates = (self.depression_k, made.grow, made.nucleate)
        self.crystals = CrystalLanes(nothing, nothing, nothing, *rates)
        self.wall = CrystalLanes(nothing, nothing, nothing, *rates)
        self.is_seeded, self.seeded_s = np.zeros(count, bool), np.full(count, np.nan)
        self.asked_s, self.target_c = np.full(count, np.nan), np.full(count, 48.0)
        self.melt_c = made.of(lambda kind: kind.melt.default_mc / 1000)
        self.low_c = made.of(lambda kind: kind.cool.default_mc / 1000)
        self.seed_c = made.of(lambda kind: kind.seed_at_mc / 1000)
        self.work_c = made.of(lambda kind: kind.work.default_mc / 1000)
        self.wall_c = made.of(lambda kind: kind.wall_mc / 1000)
        self.poured = {name: np.full(count, np.nan) for name in ("v", "u", "n", "at_c", "at_s")}
        self.elapsed_s = 0.0

    def run(self) -> Recorded:
        """Go on until every bowl is empty, and return what was recorded."""
        told = Recorded()
        while (self.phase < END).any():
            reading_c = self.probe_c + self.random.normal(0, NOISE_K, len(self.made))
            self._advance(reading_c)
            heat, fan = self._drive(reading_c)
            plate_c = self.plate_c + self.random.normal(0, NOISE_K, len(self.made))
            told.rows.append((reading_c, plate_c, self.made.room_c, heat, fan, self._told_stir(),
                              self.phase.astype(float), self.target_c.copy()))  # fmt: skip
            self._physics(heat, fan)
            self._pour()
            self.elapsed_s += STEP_S
            self.since_s += STEP_S
        return told

    def _advance(self, reading_c: Array) -> None:
        """Begin the next step where this one is done."""
        made, since_min = self.made, self.since_s / 60
        seeded = made.is_seeded == 1
        stop_c = np.where(seeded, self.seed_c + made.seed_over_k, self.low_c + made.low_over_k)
        tired = since_min >= COOL_MOST_MIN
        done = np.select(
            [self.phase == MELT, self.phase == REST, self.phase == COOL, self.phase == SEED,
             self.phase == REWARM, self.phase == WORK],
            [reading_c >= self.melt_c - 0.2, since_min >= REST_MIN,
             (reading_c <= stop_c + 0.1) | tired,
             since_min >= np.where(seeded, SEED_MIN, made.dwell_min),
             (np.abs(reading_c - self.work_c) < 0.15) | (since_min >= REWARM_MOST_MIN),
             since_min >= made.pour_min + AFTER_MIN], False,
        ).astype(bool)  # fmt: skip
        asked = done & (self.phase == COOL) & seeded
        self.asked_s[asked] = self.elapsed_s
        self.phase = np.where(done, self.phase + 1, self.phase)
        self.since_s = np.where(done, 0.0, self.since_s)
        self._seed_in(
            seeded & (self.phase == SEED) & (self.since_s >= SEED_WAIT_S) & ~self.is_seeded
        )
        self._aim(seeded)

    def _seed_in(self, now: NDArray[np.bool_]) -> None:
        """Seed of the room's warmth: half of it melts at once."""
        if not now.any():
            return
        share = np.where(now, SEED_OF_BOWL * self.made.seed_given_share, 0.0)
        share = share / (1 + share)
        for body in (self.crystals, self.wall):
            body.v += share * (SEED_STABLE - body.v)
            body.n += share * (SEED_STABLE - body.n)
        latent_j = share * self.fat_kg * 137e3 * SEED_STABLE
        cold_j = share * self.cp_j_per_k * (self.product_c - SEED_C)
        self.product_c = self.product_c - (latent_j + cold_j) / self.cp_j_per_k
        self.is_seeded |= now
        self.seeded_s[now] = self.elapsed_s

    def _aim(self, seeded: NDArray[np.bool_]) -> None:
        cool_c = np.where(seeded, self.seed_c, self.low_c)
        ramp_k = REWARM_C_PER_MIN * STEP_S / 60
        step_c = np.clip(self.work_c - self.target_c, -ramp_k, ramp_k)
        rising = np.where(self.since_s == 0.0, self.probe_c, self.target_c + step_c)
        waiting_c = np.where(self.is_seeded, self.work_c, self.seed_c)
        dwell_c = np.where(seeded, waiting_c, cool_c + self.made.low_over_k)
        self.target_c = np.select(
            [self.phase <= REST, self.phase == COOL, self.phase == SEED, self.phase == REWARM],
            [self.melt_c, cool_c, dwell_c, rising], self.work_c,
        )  # fmt: skip

    def _drive(self, reading_c: Array) -> tuple[Array, Array]:
        """Heat and fan, 0..1, by the probe and under the plate's limit."""
        made = self.made
        short_k = self.target_c - reading_c
        feed = made.loss_w_per_k * (self.target_c - made.room_c) / made.heater_w
        heat = np.clip(np.maximum(feed, 0.0) + 0.35 * short_k, 0.0, 1.0)
        careful = (self.phase >= SEED) & (self.phase < END)
        limit_c = np.where(careful, self.wall_c + PLATE_OVER_K, 60.0)
        heat *= np.clip((limit_c - self.plate_c) / 1.0, 0.0, 1.0)
        cut = (self.phase == COOL) | (self.phase == END)
        lost = (self.phase == WORK) & (made.is_heat_lost == 1)
        fan = np.clip(-short_k / 1.5, 0.0, 1.0) * (self.phase >= COOL)
        fan = np.where((self.phase == COOL) & (short_k < -0.1), np.maximum(fan, 0.3), fan)
        return np.where(cut | lost, 0.0, heat), fan

    def _stirs(self) -> Array:
        return np.where(self.phase >= COOL, self.made.is_stirred, 1.0)

    def _told_stir(self) -> Array:
        """What the rig believes: a stirrer that slips is not seen by it."""
        return np.where(self.made.is_stop_seen >= 0.5, self._stirs(), 1.0)

    def _physics(self, heat: Array, fan: Array) -> None:
        made, stirred = self.made, self._stirs()
        coupling = made.plate_w_per_k * (STILL_SHARE + (1 - STILL_SHARE) * stirred)
        into_w = coupling * (self.plate_c - self.product_c)
        fan_w_per_k = made.fan_w_per_k * made.fan_share * fan
        out_w = (fan_w_per_k + 0.3) * (self.plate_c - made.room_c)
        gun = (self.phase == WORK) & (self.since_s < made.gun_min * 60)
        at_wall_c = self.product_c + WALL_OF_PLATE * (self.plate_c - self.product_c)
        freed = BULK_SHARE * self.crystals.step(STEP_S, self.product_c, stirred)
        freed = freed + WALL_SHARE * self.wall.step(STEP_S, at_wall_c, stirred)
        every_s = SWAP_STILL_S + (SWAP_S - SWAP_STILL_S) * stirred
        swap(self.crystals, BULK_SHARE, self.wall, WALL_SHARE, WALL_SHARE * STEP_S / every_s)
        loss_w = made.loss_w_per_k * (self.product_c - made.room_c)
        own_w = into_w - loss_w + STIR_W * stirred + np.where(gun, made.gun_w, 0.0)
        self.product_c = self.product_c + (own_w * STEP_S + freed * self.fat_kg) / self.cp_j_per_k
        self.plate_c = (
            self.plate_c + (made.heater_w * heat - into_w - out_w) * STEP_S / PLATE_J_PER_K
        )
        target_c = self.product_c + made.probe_k
        self.probe_c = self.probe_c + (target_c - self.probe_c) * (1 - np.exp(-STEP_S / LAG_S))

    def _pour(self) -> None:
        now = (self.phase == WORK) & (self.since_s >= self.made.pour_min * 60)
        now &= np.isnan(self.poured["at_s"])
        if not now.any():
            return
        state = {"v": self.crystals.v, "u": self.crystals.u, "n": self.crystals.n,
                 "at_c": self.product_c, "at_s": np.full(len(now), self.elapsed_s)}  # fmt: skip
        for name, values in state.items():
            self.poured[name][now] = values[now]
