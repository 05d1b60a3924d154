"""A rig's figures from a logged run, by least squares, and how well each is known.

Levenberg-Marquardt's kin of scipy on the readings, the logarithms of the figures as unknowns. A
dead time left free cannot be told from the probe's lag, so it goes over a grid and the best is
taken. What is said of the rig counts as a weak reading of each figure (`SAID_LOG_SD`), which keeps
a figure that the run does not show where it was.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from snapgloss.base.errors import InputError
from snapgloss.rigs.description import RigDescription
from snapgloss.rigs.heat_model import FIGURES, STARTS, Array, Log, crystal_w, readings_c

DEAD_S = (0, 2, 4, 8, 12, 16, 20)
SAID_LOG_SD = np.array([0.1, 0.5, 0.5, 0.5, 0.5, 0.8])
"""How far a figure usually is from what is said of it: the label is good, the rest is not."""
START_SD_C = 3.0
NOISE_C = 0.03
"""DS18B20: a step of 0.0625 is worth 0.018, and as much again for its noise (assumption)."""
NUDGE = 1e-4
LEAST_S = 600
LEAST_MOVE_C = 5.0


class Fit(NamedTuple):
    """`figures` by name in their own units; `log_cov` of their logarithms, in the order of
    FIGURES; `dead_s` the best of the grid; `rms_c` of the readings about `model_c`."""

    figures: dict[str, float]
    log_cov: Array
    dead_s: int
    rms_c: float
    model_c: Array

    def log_sd(self, name: str) -> float:
        """Return the standard deviation of a figure's logarithm: 0.1 is about 10 %."""
        at = FIGURES.index(name)
        return float(np.sqrt(self.log_cov[at, at]))


def learn(log: Log, said: RigDescription) -> Fit:
    """Return the fit of a run on a rig described as `said`.

    Raises InputError when the run is too short, or too even to learn from.
    """
    _check(log)
    released_w = crystal_w(log)
    start = np.log([getattr(said, name) for name in FIGURES])
    first_c = float(log.product_c[np.isfinite(log.product_c)][0])
    guess = np.concatenate([start, np.full(STARTS, first_c)])
    fits = [_fitted(log, released_w, guess, dead_s) for dead_s in DEAD_S]
    return min(fits, key=lambda fit: fit.rms_c)


def learned_rig(said: RigDescription, fit: Fit) -> RigDescription:
    """Return the description with the fitted figures in it, within the device's limits."""
    changed: dict[str, Any] = {name: round(value, 2) for name, value in fit.figures.items()}
    changed["heater_w"] = round(fit.figures["heater_w"])
    known = {name: round(min(200.0, max(0.1, 100.0 * fit.log_sd(name))), 1) for name in FIGURES}
    changed["known_percent"] = known
    return RigDescription.model_validate({**said.model_dump(), **changed})


def _check(log: Log) -> None:
    known = log.product_c[np.isfinite(log.product_c)]
    if len(known) < LEAST_S or np.ptp(known) < LEAST_MOVE_C:
        raise InputError(
            f"There is too little to learn from: {len(known)} readings of liquid chocolate"
            + (f" within {np.ptp(known):.1f} °C." if len(known) else "."),
            f"A run needs {LEAST_S // 60} min and {LEAST_MOVE_C:g} °C: melt and cool once.",
        )


def _fitted(log: Log, released_w: Array, guess: Array, dead_s: int) -> Fit:
    there = np.isfinite(log.product_c)
    said_sd = np.concatenate([SAID_LOG_SD, np.full(STARTS, START_SD_C)])

    def residuals(sets: Array) -> Array:
        model_c = readings_c(sets, log, released_w, dead_s)[there]
        off = (model_c - log.product_c[there, None]) / (NOISE_C * np.sqrt(_memory_s(log)))
        weak = (sets - guess) / said_sd
        stacked: Array = np.concatenate([off, weak.T])
        return stacked

    once = _Once(residuals)
    found = least_squares(once.value, guess, jac=once.slopes, method="trf", max_nfev=30)
    model_c = readings_c(found.x[None, :], log, released_w, dead_s)[:, 0]
    off_c = (model_c - log.product_c)[there]
    cov = np.linalg.inv(found.jac.T @ found.jac) * _spread(off_c)
    figures = dict(zip(FIGURES, (float(one) for one in np.exp(found.x)), strict=False))
    count = len(FIGURES)
    return Fit(figures, cov[:count, :count], dead_s, float(off_c.std()), model_c)


class _Once:
    """Value and slopes from one pass through the model: a set, and each unknown nudged."""

    def __init__(self, residuals: Callable[[Array], Array]) -> None:
        self._residuals = residuals
        self._at: Array | None = None

    def _look(self, at: Array) -> None:
        if self._at is None or not np.array_equal(at, self._at):
            sets = at + NUDGE * np.vstack([np.zeros(len(at)), np.eye(len(at))])
            self._columns = self._residuals(sets)
            self._at = at.copy()

    def value(self, at: Array) -> Array:
        self._look(at)
        first: Array = self._columns[:, 0]
        return first

    def slopes(self, at: Array) -> NDArray[np.float64]:
        self._look(at)
        slopes: Array = (self._columns[:, 1:] - self._columns[:, :1]) / NUDGE
        return slopes


def _memory_s(log: Log) -> float:
    """Seconds over which one reading says the same as the next: what the model leaves out is
    slow, so 1 Hz readings count as so many fewer (assumption)."""
    return min(60.0, len(log.product_c) / 20.0)


def _spread(off_c: Array) -> float:
    """Return how much worse the model fits than noise alone would: the covariance grows by it."""
    return max(1.0, float(np.mean(off_c**2)) / NOISE_C**2)
