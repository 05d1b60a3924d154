"""Quantities as people write them, and back: always with their unit, exact inside.

Parsers take text such as "31.5 C", "89 F", "1 h 10 min", "2 kg" or "1 C/min" and return whole
numbers (milli-degC, seconds, grams, milli-degC per minute, thousandths). A number without a unit
is refused: 31.5 may be meant in either scale. Every refusal is an InputError of one sentence that
names the text. A decimal comma is read where it can only be one ("31,5 C"); "1,500 g" is refused.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from snapgloss.base.errors import InputError

TEMPERATURE_RANGE_MC = (-40_000, 200_000)
SPAN_MAX_S = 7 * 24 * 3600
MASS_MAX_G = 100_000
RATE_MAX_MC_PER_MIN = 100_000
TEXT_MAX = 60

_NUMBER = r"[+-]?(?:\d{1,12}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*", re.DOTALL)
_PART = re.compile(rf"\s*({_NUMBER})\s*([^\W\d_]+)")

_SPAN_UNITS = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), Fraction(1)),
    **dict.fromkeys(("min", "minute", "minutes"), Fraction(60)),
    **dict.fromkeys(("h", "hr", "hour", "hours"), Fraction(3600)),
}
_MASS_UNITS = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    # The international pound is 0.45359237 kg by definition, an ounce the sixteenth part.
    "lb": Fraction(45359237, 100000),
    "oz": Fraction(45359237, 1600000),
}
_WHOLE_MASSES = ("g", "kg")
_PER_MINUTE = {"min": Fraction(1), "h": Fraction(1, 60)}


def c_from_f(fahrenheit: float) -> float:
    """Return degrees Celsius for degrees Fahrenheit; exact by definition of the scale."""
    return (fahrenheit - 32.0) * 5.0 / 9.0


def f_from_c(celsius: float) -> float:
    """Return degrees Fahrenheit for degrees Celsius; exact by definition of the scale."""
    return celsius * 9.0 / 5.0 + 32.0


def temperature_mc(text: str) -> int:
    """Return milli-degC for "31.5 C", "31.5 °C" or "89 F", rounded to the nearest milli-degree.

    Raises InputError without a unit, or outside -40..200 °C.
    """
    amount, unit = _split(text, "a temperature", "31.5 C or 89 F")
    scale = _degree(unit)
    if scale is None:
        raise _no_unit(text, unit, "a temperature", "31.5 C or 89 F")
    celsius = (amount - 32) * Fraction(5, 9) if scale == "f" else amount
    low_mc, high_mc = TEMPERATURE_RANGE_MC
    return _within(round(celsius * 1000), low_mc, high_mc, text, "between -40 C and 200 C")


def span_s(text: str) -> int:
    """Return whole seconds for "90 s", "10 min", "1.5 h" or "1 h 10 min 5 s".

    Raises InputError without a unit, below 0, above 7 days, or between two seconds.
    """
    _readable(text, "a length of time", "10 min or 1 h 10 min")
    seconds = sum(_span_parts(text), Fraction(0))
    if seconds.denominator != 1:
        raise InputError(f'"{_short(text)}" is not a whole number of seconds.', "Round it.")
    return _within(int(seconds), 0, SPAN_MAX_S, text, "between 0 s and 7 days")


def mass_g(text: str) -> int:
    """Return whole grams for "2 kg", "120 g", "4 lb" or "4 oz" (the last two rounded).

    Raises InputError without a unit, below 0, above 100 kg, or for a part of a gram.
    """
    amount, unit = _split(text, "a mass", "2 kg or 120 g")
    factor = _MASS_UNITS.get(unit.lower())
    if factor is None:
        raise _no_unit(text, unit, "a mass", "2 kg or 120 g")
    grams = amount * factor
    if unit.lower() in _WHOLE_MASSES and grams.denominator != 1:
        raise InputError(f'"{_short(text)}" is not a whole number of grams.', "Round it.")
    return _within(round(grams), 0, MASS_MAX_G, text, "between 0 g and 100 kg")


def rate_mc_per_min(text: str) -> int:
    """Return milli-degC per minute for "1 C/min", "1.8 F/min" or "30 C/h"; never negative.

    Raises InputError without a unit, below 0, or above 100 degC a minute.
    """
    return round(_per_min(text, "a rate", "1 C/min") * 1000)


def _per_min(text: str, what: str, example: str) -> Fraction:
    amount, unit = _split(text, what, example)
    degree, _, span = unit.partition("/")
    scale, per_minute = _degree(degree), _PER_MINUTE.get(span.strip().lower())
    if scale is None or per_minute is None:
        raise _no_unit(text, unit, what, example)
    per_min = amount * per_minute * (Fraction(5, 9) if scale == "f" else 1)
    _within(round(per_min * 1000), 0, RATE_MAX_MC_PER_MIN, text, "between 0 and 100 C/min")
    return per_min


def creep_mc_per_h(text: str) -> int:
    """Return milli-degC per hour for a slow rate such as "0.5 C/h" or "0.9 F/h"; never negative.

    Raises InputError without a unit, below 0, or above 100 degC a minute.
    """
    return round(_per_min(text, "a slow rate", "0.5 C/h") * 60_000)


def share_permille(text: str) -> int:
    """Return thousandths for "18 %" or "18.5 %".

    Raises InputError without the sign, outside 0..100 %, or finer than a tenth of a percent.
    """
    amount, unit = _split(text, "a share", "18 %")
    if unit != "%":
        raise _no_unit(text, unit, "a share", "18 %")
    permille = amount * 10
    if permille.denominator != 1:
        raise InputError(f'"{_short(text)}" is finer than 0.1 %.', "Round it.")
    return _within(int(permille), 0, 1000, text, "between 0 % and 100 %")


def measure(
    text: str, what: str, example: str, factors: Mapping[str, Fraction], low: int, high: int
) -> int:
    """Return whole base units for any other quantity, such as "46 kJ/kg" or "1.5 m/s".

    `factors` says how many base units each unit is (spaces and case do not matter); `what` and
    `example` stand in the refusal. Raises InputError without a unit, or outside low..high.
    """
    amount, unit = _split(text, what, example)
    known = {"".join(name.lower().split()): factor for name, factor in factors.items()}
    factor = known.get("".join(unit.lower().split()))
    if factor is None:
        raise _no_unit(text, unit, what, example)
    first, per = next(iter(factors.items()))
    words = f"between {float(low / per):g} {first} and {float(high / per):g} {first}"
    return _within(round(amount * factor), low, high, text, words)


def fahrenheit_doubt(mc: int, most_mc: int, low_c: float = 25.0) -> str:
    """Return "; is that Fahrenheit? 88 F is 31.1 C" for a figure that only fits as one.

    Empty unless `mc` is above `most_mc` and, read as °F, lies between `low_c` and `most_mc`.
    """
    celsius = c_from_f(mc / 1000)
    if mc <= most_mc or not low_c <= celsius <= most_mc / 1000:
        return ""
    return f"; is that Fahrenheit? {_decimal(mc)} F is {celsius:.1f} C"


def show_temperature(mc: int | None, fahrenheit: bool = False) -> str:
    """Return "31.5 °C" or "88.7 °F" for a person, one decimal; "no reading" for None."""
    if mc is None:
        return "no reading"
    degrees = Fraction(mc, 1000) * Fraction(9, 5) + 32 if fahrenheit else Fraction(mc, 1000)
    tenths = round(degrees * 10)
    return f"{tenths / 10:.1f} °{'F' if fahrenheit else 'C'}"


def show_difference(kelvin: float, fahrenheit: bool = False, places: int = 1) -> str:
    """Return "0.5 °C" or "0.9 °F" for how far two temperatures lie apart."""
    return f"{kelvin * 1.8:.{places}f} °F" if fahrenheit else f"{kelvin:.{places}f} °C"


def show_h_mm(seconds: float) -> str:
    """Return "1:05" for a time since the start: hours and minutes, rounded down."""
    minutes = int(seconds // 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def show_span(seconds: int) -> str:
    """Return "1 h 10 min", "1 min 30 s" or "0 s"; exact, so that `span_s` reads it back."""
    sign, rest = ("-", -seconds) if seconds < 0 else ("", seconds)
    hours, minutes, left = rest // 3600, rest % 3600 // 60, rest % 60
    parts = [f"{n} {u}" for n, u in ((hours, "h"), (minutes, "min"), (left, "s")) if n]
    return sign + " ".join(parts or ["0 s"])


def show_mass(grams: int) -> str:
    """Return "2 kg", "1.25 kg" or "120 g"; exact, so that `mass_g` reads it back."""
    if grams >= 1000:
        return f"{_decimal(grams)} kg"
    return f"{grams} g"


def write_temperature(mc: int) -> str:
    """Return "31.5 C" or "28.333 C" for a file; exact, so that `temperature_mc` reads it back."""
    return f"{_decimal(mc)} C"


def write_rate(mc_per_min: int) -> str:
    """Return "0.5 C/min" for a file; exact, so that `rate_mc_per_min` reads it back."""
    return f"{_decimal(mc_per_min)} C/min"


def write_creep(mc_per_h: int) -> str:
    """Return "0.5 C/h" for a file; exact, so that `creep_mc_per_h` reads it back."""
    return f"{_decimal(mc_per_h)} C/h"


def write_share(permille: int) -> str:
    """Return "18 %" or "18.5 %"; exact, so that `share_permille` reads it back."""
    return f"{_decimal(permille * 100)} %"


def _decimal(thousandths: int) -> str:
    return f"{Decimal(thousandths).scaleb(-3).normalize():f}"


def _short(text: str) -> str:
    """Return the text as it may stand in a sentence: one line, printable, not endless."""
    shown = "".join(c if c.isprintable() else "?" for c in text)
    return shown if len(shown) <= TEXT_MAX else shown[:TEXT_MAX] + "..."


def _readable(text: str, what: str, example: str) -> None:
    if len(text) > TEXT_MAX or not text.strip():
        raise InputError(f'"{_short(text)}" is not {what}.', f"Write it like {example}.")


def _number(text: str, whole: str) -> Fraction:
    """Read a decimal; a comma followed by three digits may be a thousands mark: refuse it."""
    if re.search(r",\d{3,}$", text):
        raise InputError(
            f'"{_short(whole)}" can be read in two ways.', "Write it with a point, or without."
        )
    return Fraction(text.replace(",", "."))


def _split(text: str, what: str, example: str) -> tuple[Fraction, str]:
    _readable(text, what, example)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise InputError(f'"{_short(text)}" is not {what}.', f"Write it like {example}.")
    return _number(match[1], text), match[2]


def _span_parts(text: str) -> list[Fraction]:
    """Return the seconds of each part; parts must run from the larger unit to the smaller."""
    parts, factors, end = [], [], 0
    for match in _PART.finditer(text):
        factor = _SPAN_UNITS.get(match[2].lower())
        if factor is None or text[end : match.start()].strip():
            break
        parts.append(_number(match[1], text) * factor)
        factors.append(factor)
        end = match.end()
    in_order = factors == sorted(set(factors), reverse=True)
    if not parts or text[end:].strip() or not in_order:
        raise _no_unit(text, _unit_of(text), "a length of time", "10 min or 1 h 10 min")
    if len(parts) > 1 and min(parts) < 0:
        raise InputError(f'"{_short(text)}" mixes signs.', "Write it like 1 h 10 min.")
    return parts


def _unit_of(text: str) -> str:
    match = _QUANTITY.fullmatch(text)
    return match[2] if match else text


def _degree(unit: str) -> str | None:
    """Return "c" or "f" for "C", "°C", "degC", "deg C" and the same in Fahrenheit."""
    bare = unit.strip().lower().removeprefix("°").removeprefix("deg").strip()
    return bare if bare in ("c", "f") else None


def _no_unit(text: str, unit: str, what: str, example: str) -> InputError:
    if not unit:
        return InputError(f'"{_short(text)}" has no unit.', f"Write {what} like {example}.")
    return InputError(f'"{_short(text)}" is not {what}.', f"Write it like {example}.")


def _within(value: int, low: int, high: int, text: str, words: str) -> int:
    if not low <= value <= high:
        raise InputError(f'"{_short(text)}" is out of range.', f"Give a value {words}.")
    return value
