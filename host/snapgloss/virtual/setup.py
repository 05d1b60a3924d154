"""What one simulation starts from, what drives it, and what it books."""

from __future__ import annotations

from dataclasses import dataclass


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
    """Stable crystals (share of the fat, 0..1) of a liquid start that is still in temper."""
    cutout_c: float | None = None
    """Plate temperature that opens the independent cut-out, to be reset by hand; None = none."""
    cold_c: float | None = None
    """Temperature of the block in which a sample sets; None = this rig has no sample probe."""
    seed: int = 1
    """Seed of the probes' noise (used by `sensors`; the plant itself has no chance in it)."""

    @property
    def begin_c(self) -> float:
        """Temperature of bowl and chocolate at the start."""
        return self.room_c if self.start_c is None else self.start_c


@dataclass(slots=True)
class Drive:
    """What the rig's outputs do: shares 0..1 of full power, and the enable relay."""

    heat: float = 0.0
    fan: float = 0.0
    stir: float = 0.0
    enable: bool = True
    """Closed enable relay. Open, not even a shorted duty switch can heat."""


@dataclass(slots=True)
class Touch:
    """What hands do to the bowl at this moment; at rest to begin with."""

    bowl_off: bool = False
    """The bowl is off the plate: no heat passes between them."""
    probe_out: bool = False
    """The chocolate probe hangs in the air."""
    wall_share: float = 0.0
    """Share (0..1) of what the probe feels that is wall, as it is swept along by a scraper."""
    air_share: float = 0.0
    """Share (0..1) of what the probe feels that is air of the room."""
    stir: float = 0.0
    """Stirring by hand over that of the stirrer at full drive."""
    bath_w_per_k: float = 0.0
    """What joins the chocolate to water or stone beside the rig; 0 = none."""
    bath_c: float = 0.0
    """How warm those are."""


@dataclass(slots=True)
class Ledger:
    """Energy in J that crossed the border of plate and chocolate since the start."""

    supplied_j: float = 0.0
    """By heater and stirrer, and by water or stone beside the rig."""
    lost_j: float = 0.0
    """To the room."""
    carried_j: float = 0.0
    """Brought in by additions, less what pouring took away; 0 = liquid at 0 degC."""
