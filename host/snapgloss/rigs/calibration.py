"""Calibration of a probe at one or two known points, and how well it knows a temperature.

Uncertainties are those of a normal spread at 95 % (k = 2), added as squares (JCGM 100, the GUM).
Figures without a source are own choices.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.rigs.boiling import WEATHER_C, boiling_c, pressure_pa

ICE_C, ICE_U_C = 0.0, 0.05  # crushed ice of drinking water, stirred, melting
CLINICAL_U_C = 0.1  # a clinical thermometer, 35.5 to 42 degC (EN 12470-3, from memory)
BATH_U_C = 0.05  # a stirred bath is not the same everywhere
STEP_C = 0.0625  # DS18B20 at 12 bits (its data sheet)
BETWEEN_C = 0.1  # a probe bends between its points
BEYOND_C_PER_K = 0.25 / 30  # a probe of +-0.5 degC tilts so much away from its one point
DRIFT_C_PER_YEAR = 0.1
UNCALIBRATED_U_C = 0.5  # DS18B20, -10 to 85 degC (its data sheet)
LEAST_SPAN_C = 20.0
MOST_OFF_C = 2.0
YEAR_DAYS = 365.25
DUE_DAYS = 183
"""Calibrate again after half a year."""


class Point(NamedTuple):
    """What a probe read at a known temperature, degC, and how well that one is known."""

    true_c: float
    read_c: float
    u_c: float


class Calibration(NamedTuple):
    """What the board adds to a reading, in its own units, and the points it comes from."""

    offset_mk: int
    slope_e5: int
    points: tuple[Point, ...]

    def corrected_c(self, read_c: float) -> float:
        """A reading as the board will tell it."""
        return read_c + self.offset_mk / 1000 + self.slope_e5 * 1e-5 * read_c

    def read_c(self, told_c: float) -> float:
        """What the probe read when the board told this: the other way round."""
        return (told_c - self.offset_mk / 1000) / (1 + self.slope_e5 * 1e-5)


def ice(read_c: float) -> Point:
    """The ice point."""
    return Point(ICE_C, read_c, ICE_U_C)


def bath(true_c: float, read_c: float, thermometer_u_c: float = CLINICAL_U_C) -> Point:
    """A stirred bath beside a thermometer."""
    return Point(true_c, read_c, math.hypot(thermometer_u_c, BATH_U_C))


def boiling(read_c: float, altitude_m: float) -> Point:
    """Water at the boil; the weather's pressure is not known."""
    return Point(boiling_c(pressure_pa(altitude_m)), read_c, math.hypot(WEATHER_C, BATH_U_C))


def calibrate(points: Sequence[Point]) -> Calibration:
    """One point shifts, two shift and tilt; InputError for none, or points that tell nothing.

    correction = offset + slope x reading; the line through the errors at both readings.
    """
    if not 1 <= len(points) <= 2:
        raise InputError("A calibration takes one point or two.", "Give --ice, --bath, --boiling.")
    for point in points:
        _refuse_far(point)
    first, last = points[0], points[-1]
    if len(points) == 1:
        return Calibration(round(1000 * (first.true_c - first.read_c)), 0, tuple(points))
    if abs(last.true_c - first.true_c) < LEAST_SPAN_C:
        raise InputError(
            f"Two points only {abs(last.true_c - first.true_c):.1f} °C apart tell no slope.",
            f"Take points at least {LEAST_SPAN_C:g} °C apart, such as ice and 37 °C.",
        )
    errors = [point.true_c - point.read_c for point in points]
    slope = (errors[1] - errors[0]) / (last.read_c - first.read_c)
    offset = errors[0] - slope * first.read_c
    return Calibration(round(1000 * offset), round(1e5 * slope), tuple(points))


def _refuse_far(point: Point) -> None:
    off = point.true_c - point.read_c
    if not abs(off) <= MOST_OFF_C:  # NaN fails this too
        raise InputError(
            f"The probe is {abs(off):.1f} °C off at {point.true_c:.1f} °C: more than "
            f"{MOST_OFF_C:g} °C is a broken or a wrong probe, or a wrong bath.",
            "Look at the bath and the probe, then measure again.",
        )


def uncertainty_c(found: Calibration | None, at_c: float, age_days: float = 0.0) -> float:
    """How well a temperature is known by a probe, +- degC at 95 %; None = never calibrated."""
    step = 2 * STEP_C / math.sqrt(12)
    drift = DRIFT_C_PER_YEAR * age_days / YEAR_DAYS
    if found is None:
        return math.hypot(UNCALIBRATED_U_C, step)
    if len(found.points) == 1:
        (point,) = found.points
        tilt = BEYOND_C_PER_K * abs(at_c - point.true_c)
        return math.hypot(point.u_c, step, step, tilt, drift)
    low, high = sorted(found.points)
    share = (at_c - low.true_c) / (high.true_c - low.true_c)
    at_points = math.hypot((1 - share) * low.u_c, share * high.u_c)
    return math.hypot(at_points, step, step, BETWEEN_C, drift)


def against_window(u_c: float, low_c: float, high_c: float) -> str:
    """One sentence: what of a window is sure. The bounds move inwards by the uncertainty."""
    sure = low_c + u_c, high_c - u_c
    known = f"The temperature is known to ± {u_c:.2f} °C (95 %)"
    if sure[0] >= sure[1]:
        return (
            f"{known}: more than half of the window of {low_c:.1f} to {high_c:.1f} °C. No reading "
            "in it is surely inside. Calibrate at two points."
        )
    return (
        f"{known}: of the window of {low_c:.1f} to {high_c:.1f} °C, {sure[0]:.2f} to "
        f"{sure[1]:.2f} °C are surely inside."
    )
