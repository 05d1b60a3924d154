"""Whether a log's temperatures are in the scale a person said: its names and readings tell."""

import re
from collections.abc import Sequence
from statistics import median

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import FileRefused, shown
from snapgloss.base.units import c_from_f
from snapgloss.quality.log_table import Row

COLDEST_C, HOTTEST_C = -5.0, 75.0
WARMEST_AT_LEAST_C = 20.0
COLDEST_AT_MOST_C = 50.0
"""Own choice: no batch is worked under 20 degC, and none that stays over 50 degC is worked."""

_UNIT = re.compile(
    r"(celsius|fahrenheit)"
    r"|(?:^|[°º˚(\[/_,]\s*|\bdeg(?:rees?|\.)?[ _]?|\btemp\w*\.?\s+)([cf])(?![a-z0-9])",
    re.IGNORECASE,
)


def refuse_other_unit(heat_name: str, fahrenheit: bool, name: str) -> None:
    """Raise InputError where the column's name has the other unit, and that alone."""
    units = {(word or letter)[0].lower() for word, letter in _UNIT.findall(heat_name.strip())}
    if units == {"c" if fahrenheit else "f"}:
        said, right = ("Fahrenheit", "celsius") if fahrenheit else ("Celsius", "fahrenheit")
        raise InputError(
            f"The column {shown(heat_name)} of {name} is not in {said}, by its name.",
            f"Give --{right}, or put its name right.",
        )


def refuse_impossible(
    values: Sequence[float | None], rows: Sequence[Row], fahrenheit: bool, name: str
) -> None:
    """Raise FileRefused for the first reading that no chocolate has, with a guess at what it is:
    of most readings another scale in which they are warm chocolate, of a few the probe."""
    known = [value for value in values if value is not None]
    wrong = [value for value in known if not _is_possible(value, fahrenheit)]
    if not wrong:
        return
    guess = "; was the probe out, or just switched on? Empty its cell"
    if len(wrong) * 2 >= len(known):
        guess = _other_scale(median(wrong), fahrenheit)
    said = f"{wrong[0]:g} °{'F' if fahrenheit else 'C'}"
    raise FileRefused(
        name, rows[list(values).index(wrong[0])].line, "",
        f"{said} is no temperature of chocolate{guess}",
    )  # fmt: skip


def _is_possible(value: float, fahrenheit: bool) -> bool:
    return COLDEST_C <= (c_from_f(value) if fahrenheit else value) <= HOTTEST_C


def _other_scale(value: float, fahrenheit: bool) -> str:
    """ "; perhaps it is in kelvin", or nothing where no scale makes chocolate of it."""
    if _is_possible(value, not fahrenheit):
        return f"; perhaps it is in {'Celsius' if fahrenheit else 'Fahrenheit'}"
    return "; perhaps it is in kelvin" if _is_possible(value - 273.15, False) else ""


def refuse_no_chocolate(product_mc: Sequence[int | None], fahrenheit: bool, name: str) -> None:
    """Raise InputError where the readings, as read, never come near chocolate being worked."""
    known_c = [mc / 1000 for mc in product_mc if mc is not None]
    if not known_c:
        raise InputError(f"{name} has no temperature.", "Name the column of the chocolate.")
    other = "Celsius" if fahrenheit else "Fahrenheit"
    says = None
    if max(known_c) < WARMEST_AT_LEAST_C:
        says = f"never is over {max(known_c):.1f} °C"
    elif min(known_c) > COLDEST_AT_MOST_C:
        says = f"never is under {min(known_c):.1f} °C"
    if says:
        raise InputError(
            f"{name}, as read, {says}, which no chocolate that is worked does.",
            f"Is it {other}? Or is another column the chocolate's?",
        )
