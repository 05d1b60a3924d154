"""The three rigs of the guide, as what they shall do."""

from snapgloss.rigs.sizing_wanted import Wanted

BUILDS: dict[str, Wanted] = {
    # 2 kg in 90 min, an ordinary room, a fan: the recommended rig.
    "bench": Wanted(2.0, 21.0, 90 * 60, 45 * 60),
    # 6 kg: above 100 W, so its node is sensed.
    "large": Wanted(6.0, 21.0, 85 * 60, 60 * 60, least_kg=1.5),
    # A room too warm for a fan; water of 15 °C.
    "pump": Wanted(2.0, 27.5, 75 * 60, 30 * 60, coolant_c=15.0),
}
