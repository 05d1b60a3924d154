"""Many bowls through one schedule at once: minutes, energy and hottest plate of every step.

Plate and chocolate are two bodies; pieces melt along the triangle of `chocolate.heat`. They are
driven as the firmware's regulator means to drive them: as hard as heater, fan, wall and rate
allow, until all heat shared out would be the target. What its landing costs on top is `LANDING`.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate import heat
from snapgloss.schedules.bowl import REACHED_C, REACHED_NEAR_C
from snapgloss.schedules.doubt import PLATE_LOSS_PART, Array, Samples
from snapgloss.schedules.model import Step

STEP_S = 4.0
LONGEST_S = 4 * 3600.0
"""A target that takes longer counts as never reached."""
LANDING = {"melt": (1.04, 0.08), "cool": (1.01, 0.033), "rewarm": (1.08, 0.108)}
"""Median factor on a travel's minutes, and the deviation of its logarithm by its 5th and 95th
percentile: what the firmware takes beyond this model of a rig whose every figure is known, by
`tests/bench/forecast.py --landing` (simulated)."""
WALL_LEAST_C = 0.4
SOLID_DOUBT = 0.8
"""The firmware's own, `rigfw.landing`: below the wall's limit, and doubt of the coupling while
pieces melt; a test compares them."""
WALL_DOUBT = 1.4
BELIEVED = {"melt": 1.0, "rewarm": 0.5}
"""The regulator has no probe on the plate. It lets through what it believes the coupling to let
through under the limit, less three sigmas, by and large `WALL_DOUBT`; its belief lies so far, in
logarithms, from the truth to what was said of the rig: all the way until it learns, above 37 degC
(simulated, by what minutes hang on, rig by rig)."""
NO_LANDING = (1.0, 0.0)
SETTLING_S = 900.0
"""Before that a plate may still be on its way, and its chocolate at rest."""
STUCK_C_PER_S = 1e-5
"""Slower than a tenth of a degree in three hours: this bowl will not come any nearer."""


class Leg(NamedTuple):
    """A step of every bowl: minutes to its target (infinite: never), energy to the end of its
    hold in J, hottest plate in degC. Arrays of n."""

    kind: str
    reach_min: Array
    hold_min: float
    heat_j: Array
    plate_c: Array


class Bowls:
    """`count` bowls at `from_c`, all of it solid or none. Arrays of n, degC.

    `depression_k` lowers the melting points, as `ChocolateType.depression_k` has it. `lands` False
    leaves out what the firmware takes beyond this model.
    """

    lands = True

    def __init__(
        self, samples: Samples, from_c: float, solid: bool, depression_k: float = 0.0
    ) -> None:
        count = len(samples.room_c)
        self.samples = samples
        self.product_c = np.full(count, from_c)
        self.plate_c = np.full(count, from_c)
        self.reading_c = np.full(count, from_c)
        self._depression_k = depression_k
        self.melted = _melted(self.product_c + depression_k) if solid else np.ones(count)
        self.heat_j = np.zeros(count)
        self.hottest_c = self.plate_c.copy()
        self._moved_c_per_s = np.ones(count)
        self._product_j_per_k = samples.mass_kg * samples.specific

    def leg(self, step: Step, mixing_s: float, seed: int) -> Leg:
        """Travel and hold; `mixing_s` of the travel went by in the step before.

        A bowl that is through waits as it is for the others.
        """
        self.heat_j[:], self.hottest_c = 0.0, self.plate_c.copy()
        self._moved_c_per_s[:] = 1.0
        target_c = step.target_mc / 1000.0 - self.samples.offset_c
        up = self.product_c < target_c
        reach_s = np.full(len(target_c), np.inf)
        at_s = 0.0
        while at_s < LONGEST_S + step.hold_s:
            there = self._is_there(step, target_c, up) & (at_s <= LONGEST_S)
            reach_s = np.where(there, np.minimum(reach_s, at_s), reach_s)
            waits = at_s >= reach_s + step.hold_s
            travels = np.isinf(reach_s)
            is_left_alone = at_s > SETTLING_S and bool((waits | travels).all())
            if waits.all() or (is_left_alone and self._is_stuck(travels)):
                break
            self._pass(step, target_c, np.where(waits, 0.0, STEP_S))
            at_s += STEP_S
        factor = self._landing(step, seed) if self.lands else 1.0
        landed_s = np.maximum(0.0, reach_s * factor - mixing_s)
        return Leg(step.kind, landed_s / 60.0, step.hold_s / 60.0, self.heat_j.copy(),
                   self.hottest_c)  # fmt: skip

    def _is_there(self, step: Step, target_c: Array, up: NDArray[np.bool_]) -> NDArray[np.bool_]:
        near_c = REACHED_C.get(step.kind, REACHED_NEAR_C)
        over_c = self.reading_c - target_c
        found: NDArray[np.bool_] = np.where(up, over_c >= -near_c, over_c <= near_c)
        return found

    def _is_stuck(self, left: NDArray[np.bool_]) -> bool:
        """All bowls that are not there have come to rest."""
        return bool(left.any() and (np.abs(self._moved_c_per_s[left]) < STUCK_C_PER_S).all())

    def _landing(self, step: Step, seed: int) -> Array:
        median, log_sd = LANDING.get(step.kind, NO_LANDING)
        chance = np.random.default_rng(seed).normal(0.0, log_sd, len(self.plate_c))
        factors: Array = median * np.exp(chance)
        return factors

    def _pass(self, step: Step, target_c: Array, dt_s: Array) -> None:
        """Let `dt_s` pass; explicit, the plate's time constant is several times as long."""
        one = self.samples
        share = 1.0 - (1.0 - one.solid_share) * np.minimum((1.0 - self.melted) / 0.5, 1.0)
        h = one.plate_w_per_k * share
        flow_w = h * (self.plate_c - self.product_c)
        plate_w = PLATE_LOSS_PART * one.loss_w_per_k * (self.plate_c - one.room_c)
        product_w = (1.0 - PLATE_LOSS_PART) * one.loss_w_per_k * (self.product_c - one.room_c)
        missing_j = self._missing_j(target_c, product_w / h)
        heat_w = self._heat_w(step, h, flow_w + plate_w, product_w, missing_j)
        fan_w = self._fan_w(step, missing_j)
        self.plate_c += dt_s * (heat_w - flow_w - plate_w - fan_w) / one.plate_j_per_k
        before_c = self.product_c.copy()
        self._take((flow_w - product_w) * dt_s)
        self._moved_c_per_s = (self.product_c - before_c) / STEP_S
        self.reading_c -= np.expm1(-dt_s / one.probe_lag_s) * (self.product_c - self.reading_c)
        self.heat_j += dt_s * heat_w
        self.hottest_c = np.maximum(self.hottest_c, self.plate_c)

    def _missing_j(self, target_c: Array, gap_c: Array) -> Array:
        """Heat that is not in plate and chocolate yet (negative: that is too much).

        The plate that holds the target is warmer by `gap_c`.
        """
        plate_j = self.samples.plate_j_per_k * (target_c + gap_c - self.plate_c)
        melting_j = self.samples.mass_kg * self.samples.latent * (1.0 - self.melted)
        missing_j: Array = self._product_j_per_k * (target_c - self.product_c) + melting_j
        missing_j += plate_j
        return missing_j

    def _heat_w(self, step: Step, h: Array, spent_w: Array, product_w: Array,
                missing_j: Array) -> Array:  # fmt: skip
        """Full heat, held back by the wall and the rate, until nothing is missing."""
        rate_w = self._product_j_per_k * step.rate_mc_per_min / 60_000.0 + product_w
        rate_c = np.where(self.melted > 0.999, self.product_c + rate_w / h, np.inf)
        most_c = np.minimum(self._wall_c(step, h), rate_c)
        free_w = spent_w + self.samples.plate_j_per_k * (most_c - self.plate_c) / STEP_S
        free_w = np.minimum(free_w, missing_j / STEP_S + self._loss_w())
        heat_w: Array = np.clip(free_w, 0.0, self.samples.heater_w)
        return heat_w

    def _wall_c(self, step: Step, h: Array) -> Array:
        """How hot the regulator lets the plate become, sure of what it believes."""
        one = self.samples
        limit_c = step.wall_mc / 1000.0 - WALL_LEAST_C - one.offset_c
        doubt = WALL_DOUBT * (1.0 + SOLID_DOUBT * (1.0 - h / one.plate_w_per_k))
        part = BELIEVED.get(step.kind, 0.5)
        share = np.minimum((one.believed_w_per_k / one.plate_w_per_k) ** part / doubt, 1.0)
        held_c: Array = self.product_c + (limit_c - self.product_c) * share
        return held_c

    def _loss_w(self) -> Array:
        loss_w: Array = self.samples.loss_w_per_k * (self.product_c - self.samples.room_c)
        return loss_w

    def _fan_w(self, step: Step, missing_j: Array) -> Array:
        """Full fan while too much heat is there, held back by the rate."""
        over_c = self.plate_c - self.samples.room_c
        full_w = np.maximum(self.samples.fan_loss_w_per_k * over_c, 0.0)
        both_j_per_k = self._product_j_per_k + self.samples.plate_j_per_k
        rate_w = both_j_per_k * step.rate_mc_per_min / 60_000.0
        fan_w: Array = np.clip(
            np.minimum(-missing_j / STEP_S, rate_w) - self._loss_w(), 0.0, full_w
        )
        return fan_w

    def _take(self, gained_j: Array) -> None:
        """Heat into the chocolate: some of it melts what the temperature lets melt."""
        warm_c = self.product_c + self._depression_k
        slope = np.maximum(_melted(warm_c + 0.05) - self.melted, 0.0) / 0.05
        latent_j_per_k = self.samples.mass_kg * self.samples.latent * slope
        warms = gained_j / (self._product_j_per_k + np.where(gained_j > 0.0, latent_j_per_k, 0.0))
        self.product_c += warms
        self.melted = np.maximum(self.melted, _melted(self.product_c + self._depression_k))


def _melted(at_c: Array) -> Array:
    """As `chocolate.heat.melted_share`, for arrays."""
    share: Array = np.interp(at_c, _AT_C, _SHARE)
    return share


_AT_C = np.linspace(heat.MELT_FOOT_C, heat.MELT_END_C, 156)
_SHARE = np.array([heat.melted_share(float(at_c)) for at_c in _AT_C])
