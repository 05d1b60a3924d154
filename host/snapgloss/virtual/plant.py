"""The simulated bowl: heat, melting, crystals, stirring, pouring. Never a real rig.

Three bodies share the heat: the plate, a thin layer of chocolate against it (the wall, where seed
dies first) and the rest of the chocolate (the bulk). Set chocolate is a pool of *pieces* that melt
along the triangle of `chocolate.heat.melted_share`; free crystals follow `chocolate.crystals`, in
the wall layer as well as in the bulk. Stirring carries heat and crystals between the two.

Melting from set is kept apart from crystals because blocks melt by conduction and free crystals
by their own kinetics; stirred pieces that have softened fall apart into crystals, which is how
added chocolate seeds the bowl. One latent heat serves both, so that energy closes.

Pure floats, no hidden clock: the state after N steps depends on nothing but set-up, drives and
calls. Each step is implicit in temperature and therefore stable for any conductance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snapgloss.chocolate.crystals import FORGET, Crystals
from snapgloss.chocolate.heat import (
    LATENT_FAT_V_J_PER_KG,
    melted_share,
    melting_depression,
    specific_heat,
)
from snapgloss.virtual.hazards import PlantFaults

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
PIECES_MELT_S = 20.0
"""Softened pieces follow the bath around them with this lag (assumption)."""
PIECES_PART_S = 60.0
"""Softened pieces fall apart into free crystals with this time constant, stirred (assumption)."""
SOFT_C = 28.0
"""Chocolate starts to soften at 28-30 degC to the eye."""
CHILL_S = 10.0
"""An addition gives off its cold within this time constant (assumption)."""
AIR_LAG = 6.0
"""A probe in still air lags this many times more than in chocolate (assumption)."""
SMALLEST_KG = 0.005


@dataclass(frozen=True, slots=True)
class PlantSetup:
    """The bowl, the rig and the room of one simulation."""

    mass_g: float = 2000.0
    fat_share: float = 0.36
    milk_fat_share: float = 0.0
    """Milk fat over total fat."""
    heater_w: float = 100.0
    plate_j_per_k: float = 500.0
    plate_w_per_k: float = 15.0
    """Plate to chocolate, liquid and stirred."""
    plate_loss_w_per_k: float = 0.8
    loss_w_per_k: float = 0.6
    """Chocolate to room, still air."""
    fan_loss_w_per_k: float = 4.0
    """Extra loss with the fan full on, half from the plate and half from the wall of the bowl."""
    stirrer_w: float = 1.5
    """Heat of stirring at full drive. Casson figures give 1-3 W for a bowl of 1-2 kg."""
    probe_lag_s: float = 8.0
    plate_lag_s: float = 4.0
    probe_offset_c: float = 0.0
    room_c: float = 21.0
    room_drift_c_per_h: float = 0.0
    start_c: float | None = None
    """Temperature of everything at the start; None = the room's."""
    solid: bool = True
    """Set blocks at the start; False = liquid."""
    start_v: float = 0.0
    """Stable crystals (share of the fat) of a liquid start that is still in temper."""
    seed: int = 1
    """Seed of the probes' noise (used by `sensors`; the plant itself has no chance in it)."""


@dataclass(slots=True)
class Drive:
    """What the rig's outputs do: shares 0..1 of full power, and the enable relay."""

    heat: float = 0.0
    fan: float = 0.0
    stir: float = 0.0
    enable: bool = True
    """Closed enable relay. Open, not even a shorted duty switch can heat."""


@dataclass(slots=True)
class Ledger:
    """Energy in J that crossed the border of plate and chocolate since the start."""

    supplied_j: float = 0.0
    lost_j: float = 0.0
    carried_j: float = 0.0
    """Brought in by additions, less what pouring took away; reference liquid at 0 degC."""


class Plant:
    """The bowl at work. Temperatures `_c` in degC; `pieces` is the share of fat in set pieces."""

    __slots__ = (
        "_cold_j",
        "_heat_c",
        "_lag_dt_s",
        "_lags",
        "_latent",
        "_origin",
        "_plate_probe_c",
        "_probe_c",
        "at_s",
        "bulk_c",
        "bulk_kg",
        "crystals",
        "faults",
        "ledger",
        "pieces",
        "plate_c",
        "room_c",
        "setup",
        "wall_c",
        "wall_crystals",
        "wall_kg",
    )

    def __init__(self, setup: PlantSetup) -> None:
        self.setup = setup
        self.faults = PlantFaults()
        self.ledger = Ledger()
        self.at_s = 0.0
        self.room_c = setup.room_c
        start_c = setup.room_c if setup.start_c is None else setup.start_c
        self.plate_c = self.wall_c = self.bulk_c = start_c
        self._probe_c = self._plate_probe_c = start_c
        mass_kg = setup.mass_g / 1000.0
        self.wall_kg = mass_kg * WALL_SHARE
        self.bulk_kg = mass_kg - self.wall_kg
        self._heat_c = specific_heat(setup.fat_share)
        self._latent = setup.fat_share * LATENT_FAT_V_J_PER_KG
        depression_k = melting_depression(setup.milk_fat_share)
        start_v = 0.0 if setup.solid else setup.start_v
        self.crystals = Crystals(start_v, depression_k=depression_k)
        self.wall_crystals = Crystals(start_v, depression_k=depression_k)
        self.pieces = 1.0 - melted_share(start_c + depression_k) if setup.solid else 0.0
        self._origin = 1.0 if setup.solid else 0.0
        self._cold_j = 0.0
        self._lag_dt_s = 0.0
        self._lags = (1.0, 1.0, 1.0)

    @property
    def mass_g(self) -> float:
        """Chocolate in the bowl."""
        return (self.bulk_kg + self.wall_kg) * 1000.0

    @property
    def product_c(self) -> float:
        """True temperature of the bulk, as a perfect probe would have it."""
        return self.bulk_c

    @property
    def probe_c(self) -> float | None:
        """The chocolate probe, with lag and offset; None when it does not answer."""
        if self.faults.probe_missing:
            return None
        return self._probe_c + self.setup.probe_offset_c

    @property
    def plate_probe_c(self) -> float | None:
        """The plate probe, with its lag; None when it does not answer."""
        return None if self.faults.plate_probe_missing else self._plate_probe_c

    @property
    def room_probe_c(self) -> float | None:
        """The room probe; None when it does not answer."""
        return None if self.faults.room_probe_missing else self.room_c

    @property
    def set_share(self) -> float:
        """Share of the bulk's fat that is set in any form, 0..1."""
        return self.pieces + self.crystals.v + self.crystals.u

    def enthalpy_j(self) -> float:
        """Heat held by plate and chocolate; 0 = liquid, everything at 0 degC."""
        sensible = self.setup.plate_j_per_k * self.plate_c
        sensible += self._heat_c * (self.bulk_kg * self.bulk_c + self.wall_kg * self.wall_c)
        bulk = _bound_j_per_kg(self.crystals)
        wall = _bound_j_per_kg(self.wall_crystals)
        bound = self.setup.fat_share * (self.bulk_kg * bulk + self.wall_kg * wall)
        bound += (self.bulk_kg + self.wall_kg) * self.pieces * self._latent
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
        old_kg = self.bulk_kg + self.wall_kg
        whole_kg = old_kg + added_kg
        melted = melted_share(at_c + self.crystals.depression_k)
        added_pieces = stable_fraction * (1.0 - melted)
        self._cold_j += added_kg * self._heat_c * (self.bulk_c - at_c)
        self.pieces = (self.pieces * old_kg + added_pieces * added_kg) / whole_kg
        self._origin = (self._origin * old_kg + stable_fraction * added_kg) / whole_kg
        thinned = self.bulk_kg / (self.bulk_kg + added_kg)
        for_bulk = self.crystals
        for_bulk.v *= thinned
        for_bulk.u *= thinned
        for_bulk.n *= thinned
        self.bulk_kg += added_kg
        carried = self._heat_c * at_c - added_pieces * self._latent
        self.ledger.carried_j += added_kg * carried

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
        drift = setup.room_drift_c_per_h * self.at_s / 3600.0
        self.room_c = setup.room_c + drift + faults.room_offset_k
        stir = 0.0 if faults.stirrer_stalled else drive.stir
        fan = drive.fan if faults.fan_forced is None else faults.fan_forced
        fluid = max(0.0, 1.0 - self.set_share / PASTE_SHARE)
        latent_j = self._melt_pieces(dt_s, stir)
        wall_j = 0.0
        if self._crystals_matter():
            fat = setup.fat_share
            shear = stir * fluid
            latent_j += self.crystals.step(dt_s, self.bulk_c, shear, self.pieces) * (
                fat * self.bulk_kg
            )
            wall_j = self.wall_crystals.step(dt_s, self.wall_c, shear, self.pieces) * (
                fat * self.wall_kg
            )
        coupling = COUPLING_SET + fluid * (
            COUPLING_STILL - COUPLING_SET + (1.0 - COUPLING_STILL) * math.sqrt(stir)
        )
        if self._cold_j != 0.0:
            warmed = self._cold_j * dt_s / (CHILL_S + dt_s)
            self._cold_j -= warmed
            latent_j -= warmed
        stir_w = setup.stirrer_w * stir * fluid
        self._share_heat(dt_s, coupling, fan, self._heat_w(drive), stir_w, latent_j, wall_j)
        self._read_probes(dt_s)

    def _heat_w(self, drive: Drive) -> float:
        faults = self.faults
        if faults.heater_dead or not (drive.enable or faults.enable_welded):
            return 0.0
        share = 1.0 if faults.heater_shorted else drive.heat
        return (
            share
            * self.setup.heater_w
            * faults.heater_factor
            * faults.mains_factor
            * faults.mains_factor
        )

    def _melt_pieces(self, dt_s: float, stir: float) -> float:
        """Melt and break up set pieces; return the heat set free (negative), in J."""
        pieces = self.pieces
        if pieces == 0.0:
            return 0.0
        warm_c = self.bulk_c + self.crystals.depression_k
        freed = 0.0
        over = pieces - self._origin * (1.0 - melted_share(warm_c))
        if over > 0.0:
            gone = over * dt_s / (PIECES_MELT_S + dt_s)
            pieces -= gone
            freed = -gone * self._latent * (self.bulk_kg + self.wall_kg)
        parted = pieces if pieces < 1e-6 else 0.0
        if stir > 0.0 and warm_c > SOFT_C:
            parted = max(parted, pieces * stir * dt_s / (PIECES_PART_S + dt_s))
        if parted > 0.0:
            self._origin *= 1.0 - parted / pieces
            pieces -= parted
            crystals = self.crystals
            gained = parted * (self.bulk_kg + self.wall_kg) / self.bulk_kg
            crystals.v += gained
            crystals.n += gained
        self.pieces = pieces
        return freed

    def _crystals_matter(self) -> bool:
        if self.crystals.v > FORGET or self.crystals.u > FORGET:
            return True
        wall = self.wall_crystals
        return wall.v > FORGET or wall.u > FORGET or self.bulk_c < 30.0 or self.wall_c < 30.0

    def _share_heat(
        self,
        dt_s: float,
        coupling: float,
        fan: float,
        heat_w: float,
        stir_w: float,
        latent_j: float,
        wall_j: float,
    ) -> None:
        """One implicit step of the three temperatures, and the crystals that flow with it."""
        setup = self.setup
        room_c = self.room_c
        area = self._wetted()
        overall = setup.plate_w_per_k * self.faults.coupling_factor * coupling * area
        plate_g = PLATE_SIDE * overall
        bulk_g = WALL_SIDE * overall
        fan_g = 0.5 * setup.fan_loss_w_per_k * fan
        plate_loss = setup.plate_loss_w_per_k + fan_g
        loss = setup.loss_w_per_k
        plate_m = setup.plate_j_per_k / dt_s
        wall_m = self._heat_c * self.wall_kg / dt_s
        bulk_m = self._heat_c * self.bulk_kg / dt_s
        plate_a = plate_m + plate_g + plate_loss
        bulk_a = bulk_m + bulk_g + loss
        plate_r = plate_m * self.plate_c + heat_w + plate_loss * room_c
        bulk_r = bulk_m * self.bulk_c + stir_w + loss * room_c + latent_j / dt_s
        wall_r = wall_m * self.wall_c + fan_g * room_c + wall_j / dt_s
        plate_f = plate_g / plate_a
        bulk_f = bulk_g / bulk_a
        wall_a = wall_m + plate_g * (1.0 - plate_f) + bulk_g * (1.0 - bulk_f) + fan_g
        wall_c = (wall_r + plate_f * plate_r + bulk_f * bulk_r) / wall_a
        self.wall_c = wall_c
        self.plate_c = plate_c = (plate_r + plate_g * wall_c) / plate_a
        self.bulk_c = bulk_c = (bulk_r + bulk_g * wall_c) / bulk_a
        ledger = self.ledger
        ledger.supplied_j += (heat_w + stir_w) * dt_s
        ledger.lost_j += dt_s * (
            plate_loss * (plate_c - room_c) + fan_g * (wall_c - room_c) + loss * (bulk_c - room_c)
        )
        self._exchange(bulk_g / self._heat_c * dt_s)

    def _wetted(self) -> float:
        """Share of the first bowl's contact area that is still wetted: mass to the 2/3."""
        whole_g = (self.bulk_kg + self.wall_kg) * 1000.0
        ratio = whole_g / self.setup.mass_g
        return 1.0 if ratio == 1.0 else math.cbrt(ratio * ratio)

    def _exchange(self, swapped_kg: float) -> None:
        """Swap chocolate between wall and bulk: the mass flow that carries the heat."""
        bulk, wall = self.crystals, self.wall_crystals
        if bulk.n == 0.0 and wall.n == 0.0 and bulk.u == 0.0 and wall.u == 0.0:
            return
        to_bulk = swapped_kg / self.bulk_kg
        to_wall = swapped_kg / self.wall_kg
        damp = 1.0 / (1.0 + to_bulk + to_wall)
        to_bulk *= damp
        to_wall *= damp
        gap = bulk.v - wall.v
        wall.v += to_wall * gap
        bulk.v -= to_bulk * gap
        gap = bulk.u - wall.u
        wall.u += to_wall * gap
        bulk.u -= to_bulk * gap
        gap = bulk.n - wall.n
        wall.n += to_wall * gap
        bulk.n -= to_bulk * gap

    def _read_probes(self, dt_s: float) -> None:
        if dt_s != self._lag_dt_s:
            setup = self.setup
            probe = setup.probe_lag_s
            self._lags = (
                _lag(dt_s, probe),
                _lag(dt_s, AIR_LAG * probe),
                _lag(dt_s, setup.plate_lag_s),
            )
            self._lag_dt_s = dt_s
        faults = self.faults
        wet, dry, plate = self._lags
        self._plate_probe_c += (self.plate_c - self._plate_probe_c) * plate
        if faults.probe_frozen:
            return
        if faults.probe_out:
            self._probe_c += (self.room_c - self._probe_c) * dry
        else:
            self._probe_c += (self.bulk_c - self._probe_c) * wet


def _lag(dt_s: float, lag_s: float) -> float:
    """Share of a step that a first-order probe of `lag_s` makes within `dt_s`."""
    return 1.0 if lag_s <= 0.0 else 1.0 - math.exp(-dt_s / lag_s)


def _bound_j_per_kg(crystals: Crystals) -> float:
    """Latent heat already given off, J per kg of fat."""
    return LATENT_FAT_V_J_PER_KG * crystals.v + 118e3 * crystals.u
