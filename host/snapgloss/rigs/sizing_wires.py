"""Fuses and copper: which fuse a load gets, which wire that fuse, what the wire drops.

Volts, amperes, ohms, mm2, m. Raises InputError where no value of a series is large enough.
"""

from snapgloss.base.errors import InputError

FUSES_A = (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5, 16.0)
"""Usual ratings (IEC 60127's series, from memory)."""
FUSE_OVER_LOAD = 1.25
"""A fuse carries its load for ever at 1.25 times it (1.25 to 1.6, common practice)."""

CARRIES_A = {0.25: 1.0, 0.5: 3.0, 0.75: 6.0, 1.0: 10.0, 1.5: 16.0, 2.5: 25.0}
"""mm2 -> A. The least copper of an appliance's cord for its current, IEC 60335-1, as a pump's
manual reprints the table; 0.25 mm2 is our own choice."""

OHM_MM2_PER_M = 1 / 58
"""Copper at 20 degC: 58 m/(ohm mm2), the standard's annealed copper (IEC 60028, from memory)."""
STRANDED = 1.13
"""Flexible strands are longer than their wire, and thinner than named: own choice, so that every
size agrees with the greatest resistance of IEC 60228, class 5, within 3 %."""
PER_K = 0.00393  # temperature coefficient of copper at 20 degC (from memory)
WARM_C = 60.0
DROP_MOST = 0.03  # own choice: 3 % of the voltage is 6 % of the heat


def fuse_a(load_a: float) -> float:
    """The smallest usual fuse of at least 1.25 times the load, in A."""
    wanted = FUSE_OVER_LOAD * load_a
    for rating_a in FUSES_A:
        if rating_a >= wanted - 1e-9:
            return rating_a
    raise InputError(
        f"A load of {load_a:.1f} A needs a fuse of more than {FUSES_A[-1]:g} A.",
        "That is no rig to build from this guide: take less heat, or more time.",
    )


def wire_mm2(fuse_rating_a: float) -> float:
    """The thinnest copper that a fuse of that rating protects, in mm2."""
    for mm2, most_a in CARRIES_A.items():
        if most_a >= fuse_rating_a:
            return mm2
    raise InputError(f"No wire of this guide carries {fuse_rating_a:g} A.", "Take a smaller load.")


def ohm_per_km(mm2: float, at_c: float = 20.0) -> float:
    """Resistance of stranded copper in ohm/km, rho (1 + alpha (T - 20)) / A."""
    return 1000 * OHM_MM2_PER_M * STRANDED / mm2 * (1 + PER_K * (at_c - 20))


def drop_v(load_a: float, mm2: float, length_m: float) -> float:
    """Volts lost there and back over `length_m` of warm cable (60 degC)."""
    return load_a * 2 * length_m * ohm_per_km(mm2, WARM_C) / 1000


def wire_for(load_a: float, fuse_rating_a: float, volts: float, length_m: float) -> float:
    """The thinnest copper that its fuse protects and that drops at most 3 % of the voltage."""
    for mm2 in CARRIES_A:
        is_safe = mm2 >= wire_mm2(fuse_rating_a)
        if is_safe and drop_v(load_a, mm2, length_m) <= DROP_MOST * volts:
            return mm2
    raise InputError(
        f"Over {length_m:g} m no wire of this guide brings {load_a:.1f} A at {volts:g} V.",
        "Put the box nearer to the bowl.",
    )
