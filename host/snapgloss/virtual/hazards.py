"""What can be made to go wrong with the simulated rig. Everything here starts healthy."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(slots=True)
class PlantFaults:
    """Hazards of the plant, to be set and cleared at any time while it runs."""

    heater_shorted: bool = False
    """The duty switch conducts for ever: full heat whenever the enable relay is closed."""
    enable_welded: bool = False
    """The enable relay stays closed whatever the rig does."""
    heater_dead: bool = False
    """No heat at all: a broken wire, a blown fuse."""
    heater_factor: float = 1.0
    """Actual over nominal heater power, >= 0."""
    mains_factor: float = 1.0
    """Actual over nominal mains voltage, >= 0; heat goes with its square."""
    probe_out: bool = False
    """The chocolate probe hangs beside the bowl and reads the air of the room."""
    probe_frozen: bool = False
    """The chocolate probe's element keeps its temperature."""
    reading_stuck: bool = False
    """The chocolate probe's converter repeats its last reading, digit for digit."""
    probe_missing: bool = False
    """The chocolate probe does not answer."""
    probe_forced_c: float | None = None
    """The chocolate probe gives this value: 85 after its power-up, 0 on a shorted bus."""
    probe_shift_k: float = 0.0
    """Kelvin suddenly added to the chocolate probe: a loose connector."""
    probe_lag_factor: float = 1.0
    """Actual over nominal lag of the chocolate probe, >= 0: a crust of set chocolate is 4."""
    probes_swapped: bool = False
    """Chocolate and plate probe are in each other's place."""
    plate_probe_missing: bool = False
    """The plate probe does not answer."""
    room_probe_missing: bool = False
    """The room probe does not answer."""
    fan_forced: float | None = None
    """None = as driven; 0.0 stuck off, 1.0 stuck on."""
    stirrer_stalled: bool = False
    """The stirrer does not turn, whatever it is driven with."""
    coupling_factor: float = 1.0
    """Actual over nominal plate-to-chocolate conductance, >= 0: a bowl that sits badly."""
    noise_factor: float = 1.0
    """Actual over nominal noise of every probe, >= 0 (used by `sensors`)."""
    room_offset_k: float = 0.0
    """Kelvin added to the room: a door opened, a sun-lit window."""
