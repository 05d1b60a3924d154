"""What a maker knows of a rig: the mass on the scales and the watts on the heater's label.

All else that the firmware is told are the middle figures of a rig of that size. Nothing of the
plant comes in here but those two numbers, so nothing of it can go out.
"""

from __future__ import annotations

from typing import NamedTuple

from rigfw.config import RigConfig
from rigfw.describe import FIELDS
from rigfw.limits import FREE_W

MIN_ON_MS = {"ssr": 250, "relay": 10_000}
FAN_MIN_MS = 5000
DEFAULT_FIELDS = {"ceiling_mc": 60_000, "plate_ceiling_mc": 80_000, "attended_limit_s": 14_400}


class Label(NamedTuple):
    """One rig, as its maker could describe it. `has_` say which further probes are fitted."""

    mass_g: int
    heater_w: int
    actuator: str
    has_plate: int = 0
    has_room: int = 0


def config_of(label: Label) -> RigConfig:
    """Return the description that goes to the board: nominal figures of a rig of that size.

    Above FREE_W a board asks for a plate probe. It is described then; whether it gives a reading
    is for the world to say.
    """
    size_kg = label.mass_g / 1000.0
    nominal = {
        "heater_w": label.heater_w,
        "plate_j_per_k": round(600.0 * size_kg**0.5),
        "plate_w_per_k": round(11.0 * size_kg**0.6),
        "loss_mw_per_k": round(1000.0 * (0.85 + 0.5 * size_kg**0.5)),
        "fan_loss_mw_per_k": 5000,
        "probe_lag_ms": 22_000,
        "min_on_ms": MIN_ON_MS[label.actuator],
        "min_off_ms": MIN_ON_MS[label.actuator],
        "fan_min_ms": FAN_MIN_MS,
        "has_plate": 1 if label.heater_w > FREE_W else label.has_plate,
        "has_room": label.has_room,
        "has_tacho": 0,
        "has_sense": 1 if label.heater_w > FREE_W else 0,
        **DEFAULT_FIELDS,
    }
    return RigConfig(**{name: nominal.get(name, least) for name, least, _ in FIELDS})
