"""Whether a log's temperatures are in the scale a person said: its names and readings tell."""

import re
from collections.abc import Sequence

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import shown

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
