"""Damp air and cold bars: dew point, and whether a bar may be turned out.

Water that settles on a bar dissolves its sugar and dries to sugar bloom. Functions take numbers
or arrays and return arrays of the broadcast shape (a number for numbers). Units: degC, percent
of relative humidity, Pa. Saturation is the Magnus form with the constants of Sonntag (1990).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from snapgloss.base.errors import InputError

Floats = NDArray[np.float64]

MAGNUS_PA, MAGNUS_SLOPE, MAGNUS_C = 611.2, 17.62, 243.12
"""Sonntag (1990), read second-hand: es = 611.2 exp(17.62 T / (243.12 + T)). Within 0.3 % of the
tables of ASHRAE Fundamentals 2017 between 5 and 50 degC, which is 0.05 K of dew point."""
AIR_RANGE_C = (-45.0, 60.0)
"""Where the form holds."""
MARGIN_K = 2.0
"""A surface this much over the dew point stays dry (common practice, no source)."""
SET_MOST_C = 24.0
"""A warmer bar has not set, or is no longer: too little sets for it to shrink from its mould (own
choice: a store above 24 degC is an alarm, a culinary textbook, 2011); milk fat lowers it as it
does the melting."""


class TurnOut(NamedTuple):
    """Whether bars may be turned out: "now", "wait", "not set" or "dry or cool the room".

    `dew_c` dew point of the room; `margin_k` how far the bar lies above it, negative = below;
    `safe_c` the bar temperature from which it stays dry.
    """

    answer: str
    dew_c: float
    margin_k: float
    safe_c: float


def saturation_pa(at_c: ArrayLike) -> Floats:
    """Pressure of saturated water vapour over water in Pa, -45..60 degC; InputError outside."""
    at = np.asarray(at_c, dtype=float)
    _check_air(at)
    return np.asarray(MAGNUS_PA * np.exp(MAGNUS_SLOPE * at / (MAGNUS_C + at)))[()]


def dew_point_c(air_c: ArrayLike, humidity_percent: ArrayLike) -> Floats:
    """Temperature in degC at which this air gives off water; the inverse of `saturation_pa`.

    `air_c` -45..60, `humidity_percent` over 0 to 100; InputError outside, nan included.
    """
    air, humidity = np.asarray(air_c, dtype=float), np.asarray(humidity_percent, dtype=float)
    _check_air(air)
    if not np.all((humidity > 0) & (humidity <= 100)):
        raise InputError(
            f"A humidity of {_worst(humidity, 0, 100):g} % cannot be.",
            "Give more than 0 % and at most 100 %.",
        )
    g = np.log(humidity / 100) + MAGNUS_SLOPE * air / (MAGNUS_C + air)
    return np.asarray(MAGNUS_C * g / (MAGNUS_SLOPE - g))[()]


def turn_out(
    bar_c: float, room_c: float, humidity_percent: float, depression_k: float = 0.0
) -> TurnOut:
    """Say whether a bar at `bar_c` may be turned out in a room, both -45..60 degC.

    "not set" for a bar above SET_MOST_C less `depression_k` of its melting points; "now" from 2 K
    over the room's dew point on; "dry or cool the room" where a bar that is still set and no
    warmer than the room would not be that far above it; "wait" between. InputError for what
    cannot be.
    """
    _check_air(np.asarray(bar_c, dtype=float))
    dew_c = float(dew_point_c(room_c, humidity_percent))
    safe_c, set_most_c = dew_c + MARGIN_K, SET_MOST_C - depression_k
    if bar_c > set_most_c:
        answer = "not set"
    elif bar_c >= safe_c:
        answer = "now"
    else:
        can_wait = safe_c < room_c and safe_c <= set_most_c
        answer = "wait" if can_wait else "dry or cool the room"
    return TurnOut(answer, dew_c, bar_c - dew_c, safe_c)


def _check_air(at_c: Floats) -> None:
    low_c, high_c = AIR_RANGE_C
    if not np.all((at_c >= low_c) & (at_c <= high_c)):
        raise InputError(
            f"{_worst(at_c, low_c, high_c):g} °C is no temperature of a kitchen.",
            f"Give {low_c:g} to {high_c:g} °C.",
        )


def _worst(values: Floats, low: float, high: float) -> float:
    """Return the first value that is not within the limits."""
    flat = np.atleast_1d(values)
    bad: float = flat[~((flat > low) & (flat <= high))][0]
    return bad
