"""The three rigs of the guide, as what they shall do; and a sized rig as its board is told it."""

from snapgloss.rigs import sizing_heat as heat
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.rigs.sizing import Sizing
from snapgloss.rigs.sizing_wanted import Wanted

PUMP_MIN_MS = 10_000  # own choice: a small pump is switched, not throttled

BUILDS: dict[str, Wanted] = {
    # 2 kg in 75 min, an ordinary room, a fan: the recommended rig.
    "bench": Wanted(2.0, 21.0, 75 * 60, 45 * 60),
    # 6 kg: above 100 W, so its node is sensed.
    "large": Wanted(6.0, 21.0, 85 * 60, 60 * 60, least_kg=1.5),
    # A room too warm for a fan; water of 15 °C. Else the recommended rig.
    "pump": Wanted(2.0, 27.5, 75 * 60, 30 * 60, coolant_c=15.0, heater_w=75),
}


def described(name: str, wanted: Wanted, found: Sizing) -> RigDescription:
    """The rig that was sized, as a description to begin with; `learn` mends it.

    Plate and losses are those of the built-in rig, scaled as areas are. Fan or pump is taken to do
    what was asked of it and no more.
    """
    has_pump = wanted.coolant_c is not None
    key = "coolant_w_per_k" if has_pump else "fan_w_per_k"
    cools = next(figure.value for figure in found.figures if figure.key == key)
    return RigDescription(
        name=name,
        heater_w=found.heater_w,
        plate_j_per_k=round(heat.scaled(heat.PLATE_J_PER_K, wanted.mass_kg), 1),
        plate_w_per_k=round(heat.scaled(heat.PLATE_W_PER_K, wanted.mass_kg), 1),
        loss_w_per_k=round(heat.scaled(heat.LOSS_W_PER_K, wanted.mass_kg), 2),
        fan_loss_w_per_k=round(cools, 2),
        probe_lag_s=BENCH_RIG.probe_lag_s,
        largest_mass_g=round(wanted.mass_kg * 1000),
        fan_min_ms=PUMP_MIN_MS if has_pump else 0,
        has_sense=wanted.has_sense,
    )
