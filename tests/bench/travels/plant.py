"""The true rigs: many bowls at once, one lane each. Never a real rig.

    element   dE/dt = power - E/element_s,                       what comes out is E/element_s
    plate     C dTp/dt = E/element_s - h (Tp - T) - (loss + fan) (Tp - room)
    chocolate m c dT/dt = h (Tp - T) - loss (T - room) + latent heat
    probe     two lags in a row after T

Heat flows are Euler's in steps of `STEP_S`, and what leaves one body enters the next, so energy
closes to rounding. The shortest time constant of the population is 3 s (element) and some 10 s
(plate to the last of the chocolate), so the step is far inside its bound of stability; the probe's
lags are exact for a held input and may be 0. Melting and crystals go once a second (`latent.py`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.heat import LATENT_FAT_V_J_PER_KG, specific_heat
from travels.latent import Latent
from travels.population import Array, Rigs

STEP_S = 0.25
STEPS = 4
"""Steps in a second."""
BEGIN_C = 22.0


class Plant:
    """`n` lanes. `_c` in degC, arrays of n; conductances may be changed at any time.

    With `keeps_ledger`, `given_j` and `lost_j` sum up what heaters gave and rooms took.
    """

    def __init__(self, rigs: Rigs, begin_c: float = BEGIN_C, solid: float = 1.0) -> None:
        self.rigs = rigs
        count = len(rigs)
        self.element_j = np.zeros(count)
        self.plate_c = np.full(count, begin_c)
        self.product_c = np.full(count, begin_c)
        self.probe_c = np.full(count, begin_c)
        self.second_c = np.full(count, begin_c)
        self.mass_kg = rigs.mass_kg.copy()
        self.room_c = rigs.room_c.copy()
        self.fan_loss_w_per_k = rigs.fan_loss_w_per_k.copy()
        self.product_loss_w_per_k = rigs.product_loss_w_per_k.copy()
        self.coupling_share = np.ones(count)
        fat_share = rigs.latent_j_per_kg / LATENT_FAT_V_J_PER_KG
        self.specific_j_per_kg_k = np.array([specific_heat(float(one)) for one in fat_share])
        self.latent = Latent(rigs, np.full(count, solid), self.product_c)
        self.keeps_ledger = False
        self.given_j = np.zeros(count)
        self.lost_j = np.zeros(count)
        self._probe_part = lag_part(rigs.probe_s)
        self._second_part = lag_part(rigs.second_probe_s)
        self.latent_w = np.zeros(count)
        self._prepare()

    def begin_second(self) -> None:
        """Melting and crystals of the second that begins, then `STEPS` steps."""
        self.latent_w = self.latent.second(self.product_c, self.plate_c, self.mass_kg)
        self._prepare()

    def _prepare(self) -> None:
        solid = self.latent.solid
        share = 1.0 - (1.0 - self.rigs.solid_share) * np.minimum(solid / 0.5, 1.0)
        self.coupling_w_per_k = self.rigs.coupling_w_per_k * share * self.coupling_share
        self._product_part = STEP_S / (self.mass_kg * self.specific_j_per_kg_k)
        self._plate_part = STEP_S / self.rigs.plate_j_per_k

    def step(self, heat_w: Array, fan: Array) -> None:
        """Let `STEP_S` pass with `heat_w` into the elements and `fan` (0..1) on the plates."""
        out_w = self.element_j / self.rigs.element_s
        flow_w = self.coupling_w_per_k * (self.plate_c - self.product_c)
        fan_loss = self.rigs.plate_loss_w_per_k + self.fan_loss_w_per_k * fan
        plate_w = fan_loss * (self.plate_c - self.room_c)
        product_w = self.product_loss_w_per_k * (self.product_c - self.room_c)
        if self.keeps_ledger:
            self.given_j += STEP_S * heat_w
            self.lost_j += STEP_S * (plate_w + product_w)
        self.element_j += STEP_S * (heat_w - out_w)
        self.plate_c += self._plate_part * (out_w - flow_w - plate_w)
        self.product_c += self._product_part * (flow_w - product_w + self.latent_w)
        self.probe_c += self._probe_part * (self.product_c - self.probe_c)
        self.second_c += self._second_part * (self.probe_c - self.second_c)

    def pour(self, left_kg: Array) -> None:
        """Leave so much in the bowl; where less is there, nothing happens."""
        self.mass_kg = np.minimum(self.mass_kg, left_kg)

    def add_seed(self, which: NDArray[np.bool_], seed_kg: Array, at_c: Array) -> None:
        """Stir in seed: its cold at once, the melting of four fifths of it bit by bit."""
        seed_kg = np.where(which, seed_kg, 0.0)
        whole_kg = self.mass_kg + seed_kg
        self.product_c = (self.mass_kg * self.product_c + seed_kg * at_c) / whole_kg
        self.latent.add_seed(seed_kg / whole_kg)
        self.mass_kg = whole_kg

    def enthalpy_j(self) -> Array:
        """Heat held; 0 = liquid, everything at 0 degC, nothing in the element."""
        sensible = self.mass_kg * self.specific_j_per_kg_k * self.product_c
        held = sensible + self.rigs.plate_j_per_k * self.plate_c + self.element_j
        return held - self.mass_kg * self.latent.bound_j_per_kg()

    def copied(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> Plant:
        """Return these lanes as a plant of their own, in the state they are in."""
        other = Plant.__new__(Plant)
        for name, value in vars(self).items():
            setattr(other, name, value[which].copy() if isinstance(value, np.ndarray) else value)
        other.rigs = self.rigs.take(which)
        other.latent = self.latent.copied(which, other.rigs)
        return other


def lag_part(lag_s: Array) -> Array:
    """Share of its way that a lag goes within one step; 1 where there is no lag."""
    return -np.expm1(-STEP_S / np.maximum(lag_s, 1e-6))


def joined(plants: list[Plant]) -> Plant:
    """Return the lanes of several plants as one."""
    whole = Plant.__new__(Plant)
    for name, value in vars(plants[0]).items():
        parts = [getattr(plant, name) for plant in plants]
        setattr(whole, name, np.concatenate(parts) if isinstance(value, np.ndarray) else value)
    numbers = {name: [getattr(plant.rigs, name) for plant in plants] for name in vars(whole.rigs)}
    whole.rigs = Rigs(**{name: np.concatenate(parts) for name, parts in numbers.items()})
    whole.latent = Latent.joined([plant.latent for plant in plants], whole.rigs)
    return whole
