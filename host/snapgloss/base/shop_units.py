"""More quantities as people write them: lengths, speeds of air, powers. See `units`."""

from fractions import Fraction

from snapgloss.base.units import measure

_LENGTHS = {
    "mm": Fraction(1000),
    "cm": Fraction(10_000),
    "in": Fraction(25_400),  # the international inch is 25.4 mm by definition
}
_SPEEDS = {"m/s": Fraction(1000), "km/h": Fraction(10_000, 36), "ft/min": Fraction(508, 100)}
_POWERS = {"W": Fraction(1), "kW": Fraction(1000)}
_BAR_MASSES = {
    "g": Fraction(1000),
    "kg": Fraction(1_000_000),
    "oz": Fraction(45359237, 1600),  # the avoirdupois ounce, by definition
}
_ALTITUDES = {"m": Fraction(1), "ft": Fraction(3048, 10_000)}


def length_um(text: str) -> int:
    """Return thousandths of a millimetre for "7 mm" or "0.3 in", 0.1 mm to 1 m."""
    return measure(text, "a length", "7 mm", _LENGTHS, 100, 1_000_000)


def speed_mm_per_s(text: str) -> int:
    """Return mm/s for "1.5 m/s" or "200 ft/min", 0 to 20 m/s."""
    return measure(text, "a speed of air", "1.5 m/s", _SPEEDS, 0, 20_000)


def power_w(text: str) -> int:
    """Return whole watts for "80 W" or "0.1 kW", 1 W to 20 kW."""
    return measure(text, "a power", "80 W", _POWERS, 1, 20_000)


def altitude_m(text: str) -> int:
    """Return whole metres for "450 m" or "1500 ft", -400 to 5000 m above the sea."""
    return measure(text, "an altitude", "450 m", _ALTITUDES, -400, 5000)


def bar_mg(text: str) -> int:
    """Return milligrams for "50.4 g" or "1.75 oz", 1 g to 10 kg: what one bar weighs."""
    return measure(text, "the mass of a bar", "50.4 g", _BAR_MASSES, 1000, 10_000_000)


def weighed_mg(text: str) -> int:
    """Return milligrams like `bar_mg`, or 0 for "0 g", which takes weights back."""
    found = measure(text, "the mass of a bar", "50.4 g", _BAR_MASSES, 0, 10_000_000)
    return found if found == 0 else bar_mg(text)
