"""Chocolate on a rig in a room, slice by slice of a degree: how long each takes, up and down.

A lumped heat balance: chocolate and plate are one mass; the heater is held back by the step's
wall limit and rate; melting follows `chocolate.heat.melted_share`; crystal heat is left out. The
landing on each target is the one of the firmware's regulator.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple, Protocol

from snapgloss.chocolate import heat
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.model import Step

SLICE_C = 0.1
WALL_MARGIN_C = 0.5
"""The regulator keeps the plate so far below the wall limit."""
SET_COUPLING = 0.3
"""Share of the plate's conductance left while the chocolate is set: it is not stirred yet."""
SET_BELOW_C = 32.0
LANDING_S = 80.0
GENTLE_BAND_C = 2.5
GENTLE_C_PER_MIN = 0.45
REACHED_C = {"cool": 0.15, "melt": 0.2, "rewarm": 0.2}
REACHED_NEAR_C = 0.3
"""The firmware's own figures, `rigfw.regulator` and `rigfw.limits`; a test compares them."""


class RigHeat(Protocol):
    """What the forecast must know of a rig; `rigs.description` has it."""

    @property
    def heater_w(self) -> float:
        """Power of the heater."""

    @property
    def plate_j_per_k(self) -> float:
        """Heat capacity of plate and bowl."""

    @property
    def plate_w_per_k(self) -> float:
        """Conductance from plate to stirred liquid chocolate."""

    @property
    def loss_w_per_k(self) -> float:
        """Loss of the whole to the room in still air."""

    @property
    def fan_loss_w_per_k(self) -> float:
        """What a full fan adds to the loss."""


class Bowl(NamedTuple):
    """Chocolate on a rig in a room."""

    rig: RigHeat
    kind: ChocolateType
    mass_g: int
    room_c: float

    @property
    def heat_j_per_k(self) -> float:
        """Heat capacity of chocolate and plate, without melting."""
        chocolate = self.mass_g / 1000 * self.kind.specific_heat
        return chocolate + self.rig.plate_j_per_k

    @property
    def cooling_w_per_k(self) -> float:
        """Loss with the fan full on; the fan blows on the plate, the heat must get there."""
        fan, plate = self.rig.fan_loss_w_per_k, self.rig.plate_w_per_k
        return self.rig.loss_w_per_k + fan * plate / (fan + plate)

    def melting_j(self, low_c: float, high_c: float) -> float:
        """Heat that melting takes between two temperatures."""
        shift_c = self.kind.depression_k
        share = heat.melted_share(high_c + shift_c) - heat.melted_share(low_c + shift_c)
        return share * self.kind.latent_heat * self.mass_g / 1000


class Slice(NamedTuple):
    """A stretch of the way: minutes it takes (infinite = never) and degC at its end."""

    minutes: float
    to_c: float


def way(bowl: Bowl, step: Step, from_c: float, melted: bool) -> list[Slice]:
    """Return the slices from `from_c` until the firmware calls the step's target reached.

    `melted`: nothing in the bowl is set any more. Empty when it is reached already.
    """
    to_c, near_c = step.target_mc / 1000, REACHED_C.get(step.kind, REACHED_NEAR_C)
    if from_c < to_c - near_c:
        return list(_heating(bowl, step, from_c, to_c - near_c, melted))
    if from_c > to_c + near_c:
        return list(_cooling(bowl, step, from_c, to_c + near_c))
    return []


def least_min(step: Step, low_c: float, high_c: float) -> float:
    """Return the minutes of a slice as far as the regulator decides: its rate, its landing."""
    missing_c = abs((low_c + high_c) / 2 - step.target_mc / 1000)
    rate_c_per_min = min(step.rate_mc_per_min / 1000, missing_c * 60 / LANDING_S)
    if low_c >= step.target_mc / 1000 and missing_c < GENTLE_BAND_C:
        rate_c_per_min = min(rate_c_per_min, GENTLE_C_PER_MIN)
    return (high_c - low_c) / rate_c_per_min


def _slices(low_c: float, high_c: float) -> Iterator[tuple[float, float]]:
    count = max(1, math.ceil((high_c - low_c) / SLICE_C))
    width = (high_c - low_c) / count
    for n in range(count):
        yield low_c + n * width, low_c + (n + 1) * width


def _heating(bowl: Bowl, step: Step, from_c: float, to_c: float, melted: bool) -> Iterator[Slice]:
    """Yield each slice on the way up; infinite where the heat does not suffice."""
    for low_c, high_c in _slices(from_c, to_c):
        at_c = (low_c + high_c) / 2
        coupling = SET_COUPLING if not melted and at_c < SET_BELOW_C else 1.0
        room_for_c = step.wall_mc / 1000 - WALL_MARGIN_C - at_c
        given_w = min(bowl.rig.heater_w, coupling * bowl.rig.plate_w_per_k * room_for_c)
        net_w = given_w - bowl.rig.loss_w_per_k * (at_c - bowl.room_c)
        needed_j = bowl.heat_j_per_k * (high_c - low_c)
        if not melted:
            needed_j += bowl.melting_j(low_c, high_c)
        slowest = least_min(step, low_c, high_c)
        yield Slice(max(slowest, needed_j / net_w / 60) if net_w > 0 else math.inf, high_c)


def _cooling(bowl: Bowl, step: Step, from_c: float, to_c: float) -> Iterator[Slice]:
    """Yield each slice on the way down, by the fan or by the step's rate."""
    for low_c, high_c in reversed(list(_slices(to_c, from_c))):
        over_c = (low_c + high_c) / 2 - bowl.room_c
        slowest = least_min(step, low_c, high_c)
        loss_w = bowl.cooling_w_per_k * over_c
        needed_j = bowl.heat_j_per_k * (high_c - low_c)
        yield Slice(max(slowest, needed_j / loss_w / 60) if loss_w > 0 else math.inf, low_c)
