"""Readings of a sample as they come from a probe or a file: what can be used of them, and why not.

Everything here refuses with CurveNotUsable, one sentence that says what to do.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from snapgloss.base.errors import InputError
from snapgloss.base.units import c_from_f

Floats = NDArray[np.float64]

LEAST_READINGS = 30
LEAST_SPAN_S, MOST_SPAN_S = 60.0, 6 * 3600.0
LONGEST_HOLE_S = 1200.0
MOST_MISSING_SHARE = 0.4
COLDEST_C, WARMEST_C = -10.0, 45.0
"""A sample goes in at 28-33 °C; beyond these it is a wrong reading, such as the 85 °C and -127 °C
that a DS18B20 gives for a reset and a broken wire."""
MOST_WRONG_SHARE = 0.2
MOST_PERIOD_S = 20.0
STILL_SHARE, LEAST_STILL_S = 0.9, 150.0
END_C, CREPT_SHARE, CREPT_C, MOST_OVER_C = 0.2, 0.5, 0.6, 4.5
"""An end within END_C of its last value is kept for this share of tau, if the reading fell no more
than CREPT_C over as long before it."""
_NEIGHBOURS = 3
_OUT_OF_LINE_C = 0.5
_SIGMA_PER_MAD = 1.4826  # of a normal distribution
BATH_LOW_C, BATH_HIGH_C = -5.0, 26.0


class CurveNotUsable(InputError):
    """A cooling curve from which nothing can be told; `message` says why, `remedy` what to do."""

    def __init__(self, why: str, remedy: str) -> None:
        super().__init__(f"Not a usable curve: {why}.", remedy)


class Readings(NamedTuple):
    """Readings in order of time: seconds, °C, equally long, all finite and inside the range."""

    seconds: Floats
    celsius: Floats


def readings_of(seconds: ArrayLike, celsius: ArrayLike) -> Readings:
    """Return the readings that can be used: missing and wrong ones are left out.

    `seconds` rising, `celsius` in °C with nan for a missing reading, equally long and of one
    dimension. Raises CurveNotUsable for times that do not rise, too few readings, too many that
    are missing or wrong, readings too far apart, and degrees that can only be Fahrenheit.
    """
    at_s, at_c = (np.asarray(values, dtype=float) for values in (seconds, celsius))
    if at_s.ndim != 1 or at_s.shape != at_c.shape:
        raise CurveNotUsable("times and temperatures are not equally many", "Check the columns.")
    _check_times(at_s)
    known = np.isfinite(at_c)
    if len(at_s) - known.sum() > MOST_MISSING_SHARE * len(at_s):
        raise CurveNotUsable("most of its readings are missing", "Check the probe and its cable.")
    at_s, at_c = _in_range(at_s[known], at_c[known])
    kept = ~_out_of_line(at_c)
    at_s, at_c = at_s[kept], at_c[kept]
    if len(at_s) < LEAST_READINGS:
        raise CurveNotUsable(
            f"it has {_counted(len(at_s))}", f"Take at least {LEAST_READINGS}, one a second."
        )
    if float(np.median(np.diff(at_s))) > MOST_PERIOD_S:
        raise CurveNotUsable("its readings are too far apart", "Take one a second.")
    _check_span(at_s)
    return Readings(at_s, at_c)


def after(readings: Readings, begin_s: float) -> Readings:
    """Return the readings from `begin_s` on; raises CurveNotUsable where too few are left."""
    kept = readings.seconds >= begin_s
    left_s = float(readings.seconds[-1]) - begin_s
    if kept.sum() < LEAST_READINGS or left_s < LEAST_SPAN_S:
        raise CurveNotUsable(
            f"it ends {max(left_s, 0):.0f} s after the dip",
            "Leave the tube in the cold until it is within 2 °C of it.",
        )
    return Readings(readings.seconds[kept], readings.celsius[kept])


def checked_bath_c(bath_c: float | None) -> float | None:
    """Return the cold's temperature; raises CurveNotUsable where nothing would set in it."""
    if bath_c is None:
        return None
    if np.isfinite(bath_c) and BATH_LOW_C <= bath_c <= BATH_HIGH_C:
        return float(bath_c)
    raise CurveNotUsable(
        f"no sample sets at {bath_c:g} °C", "Give the temperature of the cold block, 8 to 15 °C."
    )


def fall_s(readings: Readings) -> float:
    """Return seconds from a tenth to 63 % of the whole fall: 0.9 time constants of a pure one."""
    fallen = readings.celsius.max() - readings.celsius
    fallen_share = fallen / max(float(fallen.max()), 1e-9)
    reached = int(np.argmax(fallen_share > 0.63))
    begun = np.flatnonzero(fallen_share[: reached + 1] < 0.1)
    begin = int(begun[-1]) if len(begun) else 0
    return float(readings.seconds[reached] - readings.seconds[begin])


def check_still(readings: Readings, tau_s: float) -> None:
    """Raise CurveNotUsable where one and the same reading stands for longer than a sample's can.

    `tau_s`: the sample's time constant, roughly.
    """
    longest_s = _longest_still_s(readings)
    if longest_s > max(STILL_SHARE * tau_s, LEAST_STILL_S):
        raise CurveNotUsable(
            f"the reading stands still for {longest_s:.0f} s", "Check the probe and its cable."
        )


def _longest_still_s(readings: Readings) -> float:
    waits_s = np.diff(readings.seconds)
    waits_s[waits_s > MOST_PERIOD_S] = 0.0  # a hole is no reading
    changes = np.flatnonzero(np.diff(readings.celsius) != 0)
    elapsed_s = np.concatenate([[0.0], np.cumsum(waits_s)])
    edges = np.concatenate([[0], changes + 1, [len(elapsed_s) - 1]])
    return float(np.max(np.diff(elapsed_s[edges])))


def without_still_end(readings: Readings, tau_s: float, stated_c: float | None) -> Readings:
    """Return the readings without most of an end that stands still, if it was crept up to.

    A probe with steps shows so that the sample has reached the cold. One that got stuck in
    mid-fall was still falling before, and keeps its end for `check_still` to find; so does one
    that stands far above the cold as it was stated.
    """
    at_s, at_c = readings
    if _longest_still_s(readings) <= max(STILL_SHARE * tau_s, LEAST_STILL_S):
        return readings
    moving = np.flatnonzero(np.abs(at_c - at_c[-1]) > END_C)
    begin_s = at_s[moving[-1]] if len(moving) else at_s[0]
    before = (at_s >= begin_s - CREPT_SHARE * tau_s) & (at_s <= begin_s)
    over_c = 0.0 if stated_c is None else float(at_c[-1]) - stated_c
    if float(at_c[before].max() - at_c[-1]) > CREPT_C or over_c > MOST_OVER_C:
        return readings
    kept = at_s <= begin_s + CREPT_SHARE * tau_s
    return Readings(at_s[kept], at_c[kept])


def _counted(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings" if count else "no reading"


def _check_times(at_s: Floats) -> None:
    if len(at_s) < 2:
        raise CurveNotUsable(
            f"it has {_counted(len(at_s))}", f"Take at least {LEAST_READINGS}, one a second."
        )
    if not np.all(np.isfinite(at_s)):
        raise CurveNotUsable("a time is missing", "Give each reading its time in seconds.")
    if np.any(np.diff(at_s) <= 0):
        raise CurveNotUsable("its times do not rise", "Give the readings in order of time.")


def _check_span(at_s: Floats) -> None:
    waits_s = np.diff(at_s)
    span_s, hole_s = float(at_s[-1] - at_s[0]), float(waits_s.max())
    covered_s = float(waits_s[waits_s <= MOST_PERIOD_S].sum())
    if span_s < LEAST_SPAN_S:
        raise CurveNotUsable(f"it lasts only {span_s:.0f} s", "Log until the sample has set.")
    if span_s > MOST_SPAN_S:
        raise CurveNotUsable("it lasts longer than 6 h", "Give the readings of one sample.")
    if hole_s > LONGEST_HOLE_S or covered_s < span_s / 2:
        raise CurveNotUsable(
            f"{span_s - covered_s:.0f} s of it are missing", "Check the probe and its cable."
        )


def _in_range(at_s: Floats, at_c: Floats) -> tuple[Floats, Floats]:
    good = (at_c >= COLDEST_C) & (at_c <= WARMEST_C)
    if len(at_c) - good.sum() <= MOST_WRONG_SHARE * len(at_c):
        return at_s[good], at_c[good]
    middle = float(np.median(at_c))
    # The file's bare number: nobody knows yet in which degrees it is.
    shown = f"{middle:.0f}" if abs(middle) < 1000 else "no temperature"
    words, as_celsius = f"it runs at {shown}", c_from_f(middle)
    if middle > WARMEST_C and as_celsius <= WARMEST_C:
        words += f"; is that Fahrenheit? {middle:.0f} F is {as_celsius:.0f} C"
    else:
        words += ", where no sample of chocolate is"
    raise CurveNotUsable(words, "Give degrees Celsius, or name the column fahrenheit.")


def _out_of_line(at_c: Floats) -> NDArray[np.bool_]:
    """True for single readings that jump away from their neighbours (a Hampel filter)."""
    if len(at_c) <= 2 * _NEIGHBOURS:
        return np.zeros(len(at_c), dtype=bool)
    padded = np.pad(at_c, _NEIGHBOURS, mode="reflect", reflect_type="odd")
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * _NEIGHBOURS + 1)
    off_c = np.abs(at_c - np.median(around, axis=1))
    usual_c = _SIGMA_PER_MAD * float(np.median(off_c))
    found: NDArray[np.bool_] = off_c > max(_OUT_OF_LINE_C, 6 * usual_c)
    return found
