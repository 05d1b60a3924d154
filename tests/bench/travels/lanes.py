"""What passes between the bowls and whoever regulates them; one lane for each bowl."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from rigfw import limits
from rigwire.schedule import Step
from rigwire.tables import STEP_KINDS
from travels.population import Array

PASS_MS = 250
LONGEST_TRAVEL_S = 4 * 3600
"""A travel that has not arrived by then is taken for over; it counts with this time."""


@dataclass
class Second:
    """What a group of lanes is told once a second. Arrays of n; milli-degC; `target_mc` where a
    creeping target is now; `plate_mc` and `room_mc` MISSING_MC where not fitted. `at_rest`: hands
    in the bowl, or the batch is over (`is_done`)."""

    product_mc: NDArray[np.int64]
    plate_mc: NDArray[np.int64]
    room_mc: NDArray[np.int64]
    is_fresh: NDArray[np.bool_]
    passed_ms: NDArray[np.int64]
    at_rest: NDArray[np.bool_]
    is_done: NDArray[np.bool_]
    target_mc: NDArray[np.int64]
    steps: list[Step]

    def part(self, begin: int, end: int) -> Second:
        """Return the lanes of one group."""
        return Second(**{name: value[begin:end] for name, value in vars(self).items()})


class Controller(Protocol):
    """Whoever regulates a group of lanes."""

    def demand(self, second: Second) -> None:
        """Once a second, 0.75 s after the conversions began."""

    def switch(self) -> tuple[Array, Array]:
        """Return heater (0, 1) and fan (0..1) for the next `PASS_MS`."""


class Progress:
    """Where each lane is in the schedule, by the sequencer's own rule of a target reached.

    `no` is the step's index; `len(steps)` once the lane is done. `passed_s` since the step began.
    `is_new` is True for a lane whose step began since somebody set it to False.
    """

    def __init__(self, steps: tuple[Step, ...], count: int) -> None:
        self.steps = steps
        self.no = np.zeros(count, dtype=np.int64)
        self.passed_s = np.zeros(count, dtype=np.int64)
        self.reached = np.zeros(count, dtype=bool)
        self.held_s = np.zeros(count, dtype=np.int64)
        self.is_new = np.ones(count, dtype=bool)
        padded = (*steps, steps[-1])  # a lane that is done
        self._hold_s = np.array([step.hold_s + step.wait_s for step in padded])
        self._target_mc = np.array([step.target_mc for step in padded])
        self._wall_mc = np.array([step.wall_mc for step in padded])
        self._creep_mc_per_h = np.array([step.creep_mc_per_h for step in padded])
        self._creep_most_mc = np.array([step.creep_to_mc - step.target_mc for step in padded])
        kinds = [step.kind for step in steps] + [""]
        self._is_kind = {kind: np.array([one == kind for one in kinds]) for kind in STEP_KINDS}
        self._is_warming = self._is_kind["melt"] | self._is_kind["rewarm"]

    @property
    def is_done(self) -> NDArray[np.bool_]:
        """Lanes whose schedule is over."""
        return self.no >= len(self.steps)

    @property
    def target_mc(self) -> NDArray[np.int64]:
        """Each lane's target, as far as it has crept."""
        return self._target_mc[self.no] + self.risen_mc

    @property
    def risen_mc(self) -> NDArray[np.int64]:
        """How far each lane's target has crept over the hold, by the sequencer's own sum."""
        risen_mc = self.held_s * self._creep_mc_per_h[self.no] // 3600
        return np.minimum(risen_mc, self._creep_most_mc[self.no])

    @property
    def wall_mc(self) -> NDArray[np.int64]:
        """Each lane's wall limit."""
        return self._wall_mc[self.no]

    def of_kind(self, kind: str) -> NDArray[np.bool_]:
        """Lanes that are in a step of this kind."""
        return self._is_kind[kind][self.no]

    def tick(self, product_mc: NDArray[np.int64], is_fresh: NDArray[np.bool_]) -> None:
        """One second: reached, held, next."""
        over_mc = product_mc - self.target_mc
        near = np.abs(over_mc) <= limits.REACHED_NEAR_MC
        there = np.where(self._is_warming[self.no], over_mc >= -limits.REACHED_UP_MC, near)
        there = np.where(self.of_kind("cool"), over_mc <= limits.REACHED_DOWN_MC, there)
        self.held_s += self.reached
        self.reached |= (there & is_fresh) | (self.passed_s >= LONGEST_TRAVEL_S)
        self.passed_s += 1
        self.go_on(self.reached & (self.held_s >= self._hold_s[self.no]) & ~self.is_done)

    def go_on(self, which: NDArray[np.bool_]) -> None:
        """These lanes begin their next step."""
        self.is_new |= which
        self.no = self.no + which
        self.reached &= ~which
        self.held_s[which] = self.passed_s[which] = 0
