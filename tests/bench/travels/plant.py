"""Many simulated bowls at once: heat, melting, crystals, lags. Apart from the code it tries.

Plate and stirred chocolate exchange heat, as in `snapgloss.virtual.plant` but in two bodies, and
many rigs in one array; nothing of snapgloss is imported. Beside that plant it has a lag of the
heating element and a second lag of the probe. Crystals follow the growth law of the host's model
(an estimate) without the unstable forms, which the travels of the bench do not reach.

Temperatures degC, heat J, power W, times s. The step is implicit in the two temperatures and exact
in the lags, so it is stable for any length; energy closes to rounding.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from travels.population import Floats, Rigs

STEP_S = 0.25
LATENT_V_J_PER_KG = 137e3  # per kg of fat, form V (Beckett's handbook, second-hand)
MELT_V_C, BORN_BELOW_C = 33.8, 30.0  # form V: Wille & Lutton 1966, second-hand
GROW, BEAR, MELT = 0.9 / 60, 0.03 / 60, 0.5 / 60  # per s, as in the host's model
LEVEL_C = (0.0, 10.0, 15.0, 20.0, 25.0, 27.5, 30.0, 32.0, 33.8)
LEVEL = (0.88, 0.85, 0.82, 0.76, 0.70, 0.60, 0.45, 0.20, 0.0)  # from memory, +-0.05
MELT_FOOT_C, MELT_PEAK_C, MELT_END_C = 20.0, 32.0, 35.5  # triangle, shape assumed
WALL_SHARE = 0.04  # of the chocolate is as warm as the plate (assumption)
OWED_S = 15.0  # cold chocolate that goes in takes up its heat in this time (assumption)
PASTE_SHARE = 0.5  # of set fat, from here on heat goes as through a solid (assumption)


def melted_share(at_c: Floats) -> Floats:
    """Share (0..1) of set chocolate that is melted at `at_c`: the integral of the triangle."""
    width, rise = MELT_END_C - MELT_FOOT_C, MELT_PEAK_C - MELT_FOOT_C
    low = np.clip(at_c - MELT_FOOT_C, 0.0, rise)
    high = np.clip(MELT_END_C - at_c, 0.0, MELT_END_C - MELT_PEAK_C)
    below = low * low / (width * rise)
    above = 1.0 - high * high / (width * (MELT_END_C - MELT_PEAK_C))
    return np.where(at_c <= MELT_PEAK_C, below, above)


class Bowls:
    """One bowl for each of `rigs`, all in one step. Attributes are arrays of one value each.

    `product_c` is the true bulk; `pieces` the share of fat that was never melted, `v` the share in
    stable crystals, `n` their number in the same unit. What people and weather do is set from
    outside: `room_c`, `stir` (1 or 0), `fan_factor`, `loss_factor`, `coupling_factor`.
    """

    STATE = (
        "element_w",
        "n",
        "n_most",
        "owed_j",
        "pieces",
        "plate_c",
        "poured_share",
        "probe_c",
        "product_c",
        "second_c",
        "v",
    )

    def __init__(self, rigs: Rigs, start_c: float, is_solid: bool) -> None:
        self.rigs = rigs
        self.at_s = 0.0
        zeros = np.zeros(len(rigs))
        self.room_c = rigs.room_c.copy()
        self.stir, self.fan_factor = zeros + 1.0, zeros + 1.0
        self.loss_factor, self.coupling_factor = zeros + 1.0, zeros + 1.0
        self.element_w, self.owed_j, self.poured_share = zeros.copy(), zeros.copy(), zeros.copy()
        self.plate_c, self.product_c = zeros + start_c, zeros + start_c
        self.probe_c, self.second_c = zeros + start_c, zeros + start_c
        self.pieces = (1.0 - melted_share(self.product_c)) * float(is_solid)
        self.v, self.n, self.n_most = zeros.copy(), zeros.copy(), zeros.copy()
        self.supplied_j, self.lost_j, self.carried_j = zeros.copy(), zeros.copy(), zeros.copy()
        self._crystals_j = zeros.copy()
        self.added_kg = zeros.copy()
        self._lags(STEP_S)
        self.reshape()

    def _lags(self, dt_s: float) -> None:
        rigs = self.rigs
        self._dt_s = dt_s
        self._element_keep = np.exp(-dt_s / rigs.element_lag_s)
        self._element_mean = (1.0 - self._element_keep) * rigs.element_lag_s / dt_s
        self._probe_go = -np.expm1(-dt_s / rigs.probe_lag_s)
        second_s = np.maximum(rigs.second_lag_share * rigs.probe_lag_s, 1e-3)
        self._second_go = -np.expm1(-dt_s / second_s)

    def reshape(self) -> None:
        """What follows from the mass that is left and from how thick it is. Once a second."""
        rigs = self.rigs
        self.mass_kg = (rigs.mass_kg + self.added_kg) * (1.0 - self.poured_share)
        left = self.mass_kg / rigs.mass_kg
        self._product_j_per_k = self.mass_kg * rigs.specific_j_per_kg_k
        self._loss = rigs.product_loss_w_per_k * left**rigs.poured_loss_power * self.loss_factor
        fluid = np.clip(1.0 - self.pieces / PASTE_SHARE, 0.0, 1.0)
        coupling = rigs.solid_coupling + fluid * (1.0 - rigs.solid_coupling)
        coupling *= np.maximum(1.0 - rigs.thick_coupling * self.v, 0.2) * self.coupling_factor
        self._coupling = rigs.coupling_w_per_k * coupling * left**rigs.poured_coupling_power
        turn = 2.0 * np.pi * (self.at_s / rigs.mains_period_s + rigs.mains_phase)
        self.heater_w = rigs.heater_w * (1.0 + rigs.mains_share * np.sin(turn))

    def step(self, heat: Floats, fan: Floats, dt_s: float = STEP_S) -> None:
        """`dt_s` passes with the heater and the fan at `heat` and `fan`, 0..1."""
        if dt_s != self._dt_s:
            self._lags(dt_s)
        asked_w = self.heater_w * heat
        over_w = self.element_w - asked_w
        given_w = asked_w + over_w * self._element_mean
        self.element_w = asked_w + over_w * self._element_keep
        flow_w = self._melt(dt_s) + self._crystals_j - self._warm(dt_s) / dt_s
        fan_g = self.rigs.plate_loss_w_per_k + self.rigs.fan_loss_w_per_k * self.fan_factor * fan
        self._exchange(dt_s, given_w, flow_w, fan_g)
        self.supplied_j += asked_w * dt_s
        self.probe_c += (self.product_c - self.probe_c) * self._probe_go
        self.second_c += (self.probe_c - self.second_c) * self._second_go
        self.at_s += dt_s

    def _exchange(self, dt_s: float, plate_w: Floats, product_w: Floats, plate_g: Floats) -> None:
        """One implicit step of the two temperatures."""
        join, loss, room_c = self._coupling, self._loss, self.room_c
        plate_m, product_m = self.rigs.plate_j_per_k / dt_s, self._product_j_per_k / dt_s
        plate_a, product_a = plate_m + join + plate_g, product_m + join + loss
        plate_r = plate_m * self.plate_c + plate_w + plate_g * room_c
        product_r = product_m * self.product_c + product_w + loss * room_c
        whole = plate_a * product_a - join * join
        self.plate_c = (product_a * plate_r + join * product_r) / whole
        self.product_c = (plate_a * product_r + join * plate_r) / whole
        lost_w = plate_g * (self.plate_c - room_c) + loss * (self.product_c - room_c)
        self.lost_j += lost_w * dt_s

    def _melt(self, dt_s: float) -> Floats | float:
        """Set chocolate melts; the power that it sets free (negative)."""
        if not self.pieces.any():
            return 0.0
        over = np.maximum(self.pieces - (1.0 - melted_share(self.product_c)), 0.0)
        gone = over * dt_s / (self.rigs.melt_s + dt_s)
        gone = np.where(self.pieces < 1e-6, self.pieces, gone)  # so little is no piece any more
        self.pieces = self.pieces - gone
        return -gone * self.mass_kg * self.rigs.latent_j_per_kg / dt_s

    def _warm(self, dt_s: float) -> Floats | float:
        if not self.owed_j.any():
            return 0.0
        taken_j = self.owed_j * (dt_s / (OWED_S + dt_s))
        self.owed_j -= taken_j
        return taken_j

    def grow(self, dt_s: float = 1.0) -> None:
        """Crystals over `dt_s`; their heat flows evenly in the steps until the next call."""
        at_c, v, n = self.product_c, self.v, self.n
        factor = self.rigs.growth_factor
        level = np.interp(at_c, LEVEL_C, LEVEL)
        room = np.maximum(level - v - self.pieces, 0.0)
        under = np.clip((MELT_V_C - at_c) / 10.0, 0.0, 2.0)
        grown = GROW * factor * under * np.sqrt(under) * np.cbrt(n * v * v) * room
        born_under = np.maximum(BORN_BELOW_C - at_c, 0.0) / 10.0
        born = BEAR * factor * self.stir * born_under * born_under * room
        hot = MELT * np.maximum(at_c - MELT_V_C, 0.0)
        at_wall = WALL_SHARE * MELT * np.maximum(self.plate_c - MELT_V_C, 0.0)
        back = 0.2 * MELT * np.maximum(v - level, 0.0) * (at_c < MELT_V_C)
        lost = np.minimum(v * (hot + at_wall) + back, v / dt_s)
        gained = np.minimum(grown + born, room / dt_s) - lost
        self.v = v + gained * dt_s
        self.n = (n + born * dt_s) / (1.0 + dt_s * (hot + at_wall))
        self.n_most = np.maximum(self.n_most, self.n)
        fat_kg = self.mass_kg * self.rigs.fat_share
        self._crystals_j = LATENT_V_J_PER_KG * fat_kg * gained

    def pour(self, share: Floats | float, where: NDArray[np.bool_]) -> None:
        """From now on `share` (0..1) of the batch is gone, in the bowls that `where` names."""
        before_j = self.enthalpy_j()
        self.poured_share = np.where(where, share, self.poured_share)
        self.reshape()
        self.carried_j += self.enthalpy_j() - before_j

    def add(
        self, share: Floats | float, at_c: Floats, set_share: float, where: NDArray[np.bool_]
    ) -> None:
        """Stir in `share` of the mass at `at_c`; `set_share` of its fat melts, the rest of the set
        fat stays as seed when `set_share` is above 0."""
        more_kg = np.where(where, share * self.mass_kg, 0.0)
        before_j = self.enthalpy_j()
        whole_kg = self.mass_kg + more_kg
        rigs = self.rigs
        owed = (
            rigs.specific_j_per_kg_k * (self.product_c - at_c) + set_share * rigs.latent_j_per_kg
        )
        self.owed_j += more_kg * owed
        thinned = self.mass_kg / whole_kg
        seed = (1.0 - set_share) * (1.0 - thinned) if set_share else 0.0
        self.v, self.n = self.v * thinned + seed, self.n * thinned + seed
        self.pieces = self.pieces * thinned
        self.added_kg += more_kg / (1.0 - self.poured_share)
        self.reshape()
        self.carried_j += self.enthalpy_j() - before_j

    def enthalpy_j(self) -> Floats:
        """Heat held by element, plate and chocolate; 0 = liquid, everything at 0 degC."""
        rigs = self.rigs
        sensible = rigs.plate_j_per_k * self.plate_c + self._product_j_per_k * self.product_c
        bound = self.pieces * rigs.latent_j_per_kg + self.v * rigs.fat_share * LATENT_V_J_PER_KG
        stored = self.element_w * rigs.element_lag_s
        return sensible - bound * self.mass_kg - self.owed_j + stored

    def copied(self, places: NDArray[np.int64]) -> Bowls:
        """Bowls in the state of those at `places`, to go on apart from these."""
        twin = Bowls(self.rigs.taken(places), 20.0, False)
        twin.at_s = self.at_s
        others = ("added_kg", "room_c", "stir", "fan_factor", "loss_factor", "coupling_factor")
        for name in self.STATE + others:
            setattr(twin, name, getattr(self, name)[places].copy())
        twin.reshape()
        return twin
