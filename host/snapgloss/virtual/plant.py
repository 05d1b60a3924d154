"""The simulated bowl: heat, melting, crystals, stirring, pouring. Never a real rig.

Three bodies share the heat: the plate, a thin layer of chocolate against it (the wall, where seed
dies first) and the rest of the chocolate (the bulk). Set chocolate is a pool of pieces that melt
along the triangle of `chocolate.heat.melted_share`; free crystals follow `chocolate.crystals`, in
the wall layer as well as in the bulk. Stirring carries heat and crystals between the two.

Pieces are kept apart from crystals because blocks melt by conduction and free crystals by their
own kinetics; stirred pieces that have softened fall apart into crystals, which is how added
chocolate seeds the bowl. One latent heat serves both, so that energy closes.

Pure floats, no hidden clock: the state after N steps depends on nothing but set-up, drives and
calls. Each step is implicit in temperature and therefore stable for any conductance.
"""

from __future__ import annotations

import math

from snapgloss.chocolate.crystals import LATENT_V_J_PER_KG, NUCLEATION_END_C, Crystals, swap
from snapgloss.chocolate.heat import latent_heat, melting_depression, specific_heat
from snapgloss.virtual.flows import chain_c
from snapgloss.virtual.hazards import PlantFaults
from snapgloss.virtual.melting import Pieces
from snapgloss.virtual.probes import Probes
from snapgloss.virtual.setup import Drive, Ledger, PlantSetup, Touch
from snapgloss.virtual.stirring import Stirrer

__all__ = ["Drive", "Ledger", "Plant", "PlantFaults", "PlantSetup", "Touch"]

LONGEST_STEP_S = 0.5
WALL_SHARE = 0.04
"""Mass of the wall layer over that of the chocolate: a millimetre or so (assumption)."""
PLATE_SIDE = 8.0 / 3.0
WALL_SIDE = 8.0 / 5.0
"""Conductances plate-wall and wall-bulk over the overall one; in series they give it back."""
COUPLING_SET = 0.3
COUPLING_STILL = 0.4
"""Share of the stirred coupling left when set, and when liquid but at rest (assumptions)."""
PASTE_SHARE = 0.5
"""From this share of set fat on, the chocolate is a solid to heat and stirrer (assumption)."""
CHILL_S = 10.0
"""An addition gives off its cold within this time constant (assumption)."""
SMALLEST_KG = 0.005
"""What sticks to the bowl: pouring leaves it, and the sums never divide by nothing."""


class Plant:
    """The bowl at work. `_c` in degC; `product_c` is the true bulk, `probe_c` what a probe has.

    `faults` and `touch` may be changed at any time. `crystals` are those of the bulk. `cut_out`
    says that the plate's own cut-out has opened; set it to False to reset it by hand.
    """

    __slots__ = (
        "_cold_j",
        "_heat_c",
        "_latent",
        "_probes",
        "at_s",
        "bulk_kg",
        "crystals",
        "cut_out",
        "faults",
        "ledger",
        "pieces",
        "plate_c",
        "product_c",
        "room_c",
        "setup",
        "stirrer",
        "touch",
        "wall_c",
        "wall_crystals",
        "wall_kg",
    )

    def __init__(self, setup: PlantSetup) -> None:
        self.setup = setup
        self.faults = PlantFaults()
        self.touch = Touch()
        self.stirrer = Stirrer()
        self.at_s = 0.0
        self.room_c = setup.room_c
        self.plate_c = setup.begin_c
        self._probes = Probes(setup, self.faults, setup.begin_c)
        self._heat_c = specific_heat(setup.fat_share)
        self._latent = latent_heat(setup.fat_share, LATENT_V_J_PER_KG)
        self.cut_out = False
        self.refill()

    def refill(self) -> None:
        """Put a new batch on the plate, which stays as it is; the ledger begins anew."""
        setup = self.setup
        self.ledger = Ledger()
        self.wall_c = self.product_c = setup.begin_c
        self.wall_kg = setup.mass_g / 1000.0 * WALL_SHARE
        self.bulk_kg = setup.mass_g / 1000.0 - self.wall_kg
        depression_k = melting_depression(setup.milk_fat_share)
        start_v = 0.0 if setup.solid else setup.start_v
        self.crystals = Crystals(start_v, depression_k=depression_k)
        self.wall_crystals = Crystals(start_v, depression_k=depression_k)
        self.pieces = Pieces(1.0 if setup.solid else 0.0, setup.begin_c + depression_k)
        self._cold_j = 0.0

    @property
    def mass_g(self) -> float:
        """Chocolate in the bowl."""
        return (self.bulk_kg + self.wall_kg) * 1000.0

    @property
    def probe_c(self) -> float | None:
        """The chocolate probe, with lag and offset; None when it does not answer."""
        return self._probes.product_c()

    @property
    def plate_probe_c(self) -> float | None:
        """The plate probe, with its lag; None when it does not answer."""
        return self._probes.plate_c()

    @property
    def room_probe_c(self) -> float | None:
        """The room probe; None when it does not answer."""
        return self._probes.room_c(self.room_c)

    @property
    def set_share(self) -> float:
        """Share of the bulk's fat that is set in any form, 0..1."""
        return self.pieces.share + self.crystals.v + self.crystals.u

    def enthalpy_j(self) -> float:
        """Heat held by plate and chocolate; 0 = liquid, everything at 0 degC."""
        sensible = self.setup.plate_j_per_k * self.plate_c
        sensible += self._heat_c * (self.bulk_kg * self.product_c + self.wall_kg * self.wall_c)
        bound = self.bulk_kg * self.crystals.bound_j_per_kg()
        bound += self.wall_kg * self.wall_crystals.bound_j_per_kg()
        bound *= self.setup.fat_share
        bound += (self.bulk_kg + self.wall_kg) * self.pieces.share * self._latent
        return sensible - bound - self._cold_j

    def advance(self, dt_s: float, drive: Drive) -> None:
        """Let `dt_s` (>= 0; cut into steps of 0.5 s at most) pass with the outputs at `drive`."""
        while dt_s > LONGEST_STEP_S:
            self._step(LONGEST_STEP_S, drive)
            dt_s -= LONGEST_STEP_S
        if dt_s > 0.0:
            self._step(dt_s, drive)

    def add(self, grams: float, at_c: float, stable_fraction: float) -> None:
        """Stir in `grams` (>= 0) at `at_c`, `stable_fraction` (0..1) of its fat set in form V.

        The cold reaches the chocolate within some ten seconds; the set part melts as far as the
        temperature it lands at demands and takes its latent heat; what stays set is seed.
        """
        added_kg = grams / 1000.0
        if added_kg <= 0.0:
            return
        crystals = self.crystals
        whole_kg = self.bulk_kg + self.wall_kg + added_kg
        share = added_kg / whole_kg
        piece_c = at_c + crystals.depression_k
        bound = self.pieces.add(1.0 - share, stable_fraction * share, piece_c)
        self._cold_j += added_kg * self._heat_c * (self.product_c - at_c)
        self.ledger.carried_j += added_kg * self._heat_c * at_c - bound * whole_kg * self._latent
        thinned = self.bulk_kg / (self.bulk_kg + added_kg)
        self.bulk_kg += added_kg
        crystals.v *= thinned
        crystals.u *= thinned
        crystals.n *= thinned

    def remove(self, grams: float) -> float:
        """Pour out `grams` (>= 0) of the mixed chocolate; return the grams that were there."""
        before_j = self.enthalpy_j()
        whole_kg = self.bulk_kg + self.wall_kg
        taken_kg = min(max(grams, 0.0) / 1000.0, max(0.0, whole_kg - SMALLEST_KG))
        left = 1.0 - taken_kg / whole_kg
        self.bulk_kg *= left
        self.wall_kg *= left
        self._cold_j *= left
        self.ledger.carried_j += self.enthalpy_j() - before_j
        return taken_kg * 1000.0

    def _step(self, dt_s: float, drive: Drive) -> None:
        setup, faults = self.setup, self.faults
        self.at_s += dt_s
        drift_k = setup.room_drift_c_per_h * self.at_s / 3600.0
        self.room_c = setup.room_c + drift_k + faults.room_offset_k
        stir = 0.0 if faults.stirrer_stalled else drive.stir
        stir = max(self.touch.stir, self.stirrer.turn(dt_s, stir, self.pieces.block_share()))
        fan = drive.fan if faults.fan_forced is None else faults.fan_forced
        fluid = max(0.0, 1.0 - self.set_share / PASTE_SHARE)
        shear = stir * fluid
        bulk_j = self._melt_pieces(dt_s, shear) - self._warm_addition(dt_s)
        wall_j = 0.0
        if self._crystals_matter():
            fat, pieces = setup.fat_share, self.pieces.share
            grown_j = self.crystals.step(dt_s, self.product_c, shear, pieces)
            bulk_j += grown_j * fat * self.bulk_kg
            grown_j = self.wall_crystals.step(dt_s, self.wall_c, shear, pieces)
            wall_j = grown_j * fat * self.wall_kg
        stir_w = setup.stirrer_w * shear
        coupling_g = self._coupling_w_per_k(fluid, stir)
        heat_w = self._heat_w(drive)
        self.ledger.supplied_j += (heat_w + stir_w) * dt_s
        self._share_heat(dt_s, coupling_g, fan, heat_w, stir_w + bulk_j / dt_s, wall_j / dt_s)
        swapped_kg = WALL_SIDE * coupling_g / self._heat_c * dt_s
        swap(self.crystals, self.bulk_kg, self.wall_crystals, self.wall_kg, swapped_kg)
        self._probes.step(
            dt_s, self._around_probe_c(), self.plate_c, self.room_c, self.touch.probe_out
        )

    def _around_probe_c(self) -> float:
        touch, product_c = self.touch, self.product_c
        mixed_c = product_c + touch.wall_share * (self.wall_c - product_c)
        return mixed_c + touch.air_share * (self.room_c - product_c)

    def _heat_w(self, drive: Drive) -> float:
        faults = self.faults
        cutout_c = self.setup.cutout_c
        if cutout_c is not None and self.plate_c > cutout_c:
            self.cut_out = True
        if self.cut_out or faults.heater_dead or not (drive.enable or faults.enable_welded):
            return 0.0
        share = 1.0 if faults.heater_shorted else drive.heat
        mains = faults.mains_factor
        return share * self.setup.heater_w * faults.heater_factor * mains * mains

    def _melt_pieces(self, dt_s: float, shear: float) -> float:
        """Melt and break up set pieces; return the heat set free (negative), in J."""
        pieces = self.pieces
        if pieces.share == 0.0:
            return 0.0
        warm_c = self.product_c + self.crystals.depression_k
        whole_kg = self.bulk_kg + self.wall_kg
        gone = pieces.melt(dt_s, warm_c)
        parted = pieces.part(dt_s, warm_c, shear) * whole_kg / self.bulk_kg
        self.crystals.v += parted
        self.crystals.n += parted
        return -gone * whole_kg * self._latent

    def _warm_addition(self, dt_s: float) -> float:
        """Heat in J that what was added last takes up within this step."""
        if self._cold_j == 0.0:
            return 0.0
        warmed_j = self._cold_j * dt_s / (CHILL_S + dt_s)
        self._cold_j -= warmed_j
        return warmed_j

    def _crystals_matter(self) -> bool:
        bulk, wall = self.crystals, self.wall_crystals
        if bulk.v > 0.0 or wall.v > 0.0 or bulk.u > 0.0 or wall.u > 0.0:
            return True
        return min(self.product_c, self.wall_c) + bulk.depression_k < NUCLEATION_END_C

    def _coupling_w_per_k(self, fluid: float, stir: float) -> float:
        """Plate to bulk as it is now: how liquid, how stirred, how much of the bowl is wetted."""
        stirred = COUPLING_STILL + (1.0 - COUPLING_STILL) * math.sqrt(stir)
        coupling = COUPLING_SET + fluid * (stirred - COUPLING_SET)
        ratio = self.mass_g / self.setup.mass_g
        wetted = math.cbrt(ratio * ratio)
        return self.setup.plate_w_per_k * self.faults.coupling_factor * coupling * wetted

    def _share_heat(
        self,
        dt_s: float,
        coupling_g: float,
        fan: float,
        plate_w: float,
        bulk_w: float,
        wall_w: float,
    ) -> None:
        """One implicit step of the three temperatures, and the books of what the room got."""
        setup = self.setup
        room_c = self.room_c
        plate_g = 0.0 if self.touch.bowl_off else PLATE_SIDE * coupling_g
        bulk_g = WALL_SIDE * coupling_g
        fan_g = 0.5 * setup.fan_loss_w_per_k * fan
        plate_loss = setup.plate_loss_w_per_k + fan_g
        loss, bath_g = setup.loss_w_per_k, self.touch.bath_w_per_k
        plate_m = setup.plate_j_per_k / dt_s
        wall_m = self._heat_c * self.wall_kg / dt_s
        bulk_m = self._heat_c * self.bulk_kg / dt_s
        plate_c, wall_c, bulk_c = chain_c(
            plate_m + plate_g + plate_loss,
            plate_m * self.plate_c + plate_w + plate_loss * room_c,
            wall_m + plate_g + bulk_g + fan_g,
            wall_m * self.wall_c + wall_w + fan_g * room_c,
            bulk_m + bulk_g + loss + bath_g,
            bulk_m * self.product_c + bulk_w + loss * room_c + bath_g * self.touch.bath_c,
            plate_g,
            bulk_g,
        )
        self.plate_c, self.wall_c, self.product_c = plate_c, wall_c, bulk_c
        lost_w = plate_loss * (plate_c - room_c) + fan_g * (wall_c - room_c)
        self.ledger.lost_j += (lost_w + loss * (bulk_c - room_c)) * dt_s
        self.ledger.supplied_j += bath_g * (self.touch.bath_c - bulk_c) * dt_s
