"""A smooth curve and its slope through readings with noise, steps and holes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

from snapgloss.chocolate.curve_readings import Readings

Floats = NDArray[np.float64]

CELLS_PER_PERIOD = 40
HOLE_WEIGHT = 1e-3
"""Of a straight line through a hole: nothing in a short one; a long one it keeps solvable."""
LEAST_ROOT_WEIGHT = 0.03
"""So that no stretch of readings is left without any weight."""
_ROUNDS = 2
_SIGMA_PER_MAD = 1.4826
_TUKEY = 4.7  # of sigma: the usual bisquare constant
_LEAST_NOISE_C = 0.05
"""A quiet probe must not make the bend of the dip look like wrong readings."""
_THIRD = np.array([-1.0, 3.0, -3.0, 1.0])


class Smooth(NamedTuple):
    """A smooth curve over evenly spaced seconds."""

    seconds: Floats
    celsius: Floats
    slope_c_per_s: Floats
    noise_c: float
    """Standard deviation of one reading about the curve, robust."""
    slope_error_c_per_s: float
    """Standard deviation of the slope that this noise makes, away from the ends."""


def smooth(readings: Readings, period_s: float) -> Smooth:
    """Return the curve through the readings without what is shorter than about `period_s`.

    Least squares with a penalty on the third difference (Whittaker, Proc. Edinburgh Math. Soc. 41
    (1923) 63; Eilers, Anal. Chem. 75 (2003) 3631, both from memory), so a parabola passes
    unchanged and a hole is bridged. The penalty (period_s / 2 pi)^6 halves a wave of that period.
    Readings out of line lose their weight (bisquare).
    """
    at_s = readings.seconds - readings.seconds[0]
    step_s = min(period_s, float(at_s[-1])) / CELLS_PER_PERIOD
    cell = np.round(at_s / step_s).astype(int)
    count = int(cell[-1]) + 1
    hole = np.bincount(cell, minlength=count) == 0
    hole_c = np.interp(step_s * np.flatnonzero(hole), at_s, readings.celsius)
    stiffness = (period_s / (2 * np.pi * step_s)) ** 6 * len(at_s) / count
    penalty = stiffness * _penalty_bands(count)
    weights = np.ones(len(at_s))
    from_cell_s = at_s - cell * step_s
    line, at_cell_c = np.zeros(count), readings.celsius
    noise_c = 0.0
    for _ in range(_ROUNDS):
        weight = np.bincount(cell, weights, count) + HOLE_WEIGHT * hole
        pull = np.bincount(cell, weights * at_cell_c, count).astype(np.float64)
        pull[hole] = HOLE_WEIGHT * hole_c
        line = _solve(penalty, weight, pull)
        at_cell_c = readings.celsius - np.gradient(line, step_s)[cell] * from_cell_s
        off_c = at_cell_c - line[cell]
        noise_c = _SIGMA_PER_MAD * float(np.median(np.abs(off_c)))
        far_c = _TUKEY * max(noise_c, _LEAST_NOISE_C)
        weights = np.square(np.clip(1 - np.square(off_c / far_c), LEAST_ROOT_WEIGHT, None))
    per_reading_s = at_s[-1] / len(at_s)
    return Smooth(
        readings.seconds[0] + step_s * np.arange(count),
        line,
        np.gradient(line, step_s),
        noise_c,
        _slope_error(noise_c, per_reading_s, period_s),
    )


def _slope_error(noise_c: float, per_reading_s: float, period_s: float) -> float:
    """Noise of the slope: white noise through d/dt up to the cut-off, sqrt(w^3 dt / 3 pi)."""
    cut_off = 2 * np.pi / period_s
    return float(noise_c * np.sqrt(per_reading_s * cut_off**3 / (3 * np.pi)))


def _penalty_bands(count: int) -> Floats:
    """Upper bands of D'D, D the third difference of `count` values, as solveh_banded wants it."""
    bands = np.zeros((4, count))
    for i, one in enumerate(_THIRD):
        for j in range(i, 4):
            # Row r of D adds one * other at (r + i, r + j).
            bands[3 - (j - i), j : count - 3 + j] += one * _THIRD[j]
    return bands


def _solve(penalty: Floats, weight: Floats, pull: Floats) -> Floats:
    bands = penalty.copy()
    bands[3] += weight
    solved: Floats = solveh_banded(bands, pull, overwrite_ab=True, check_finite=False)
    return solved
