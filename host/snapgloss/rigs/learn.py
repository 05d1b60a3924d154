"""A rig's figures from a logged run, by least squares, and how well each is known.

Levenberg-Marquardt's kin of scipy on the readings, the logarithms of the figures as unknowns. A
dead time left free cannot be told from the lags, so it goes over a grid; each dead time counts by
how well it explains the run, and how far they lie apart is part of the doubt. What is said of the
rig counts as a weak reading of each figure (`SAID_LOG_SD`), which keeps a figure that the run does
not show where it was.
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from rigfw.limits import FREE_W
from snapgloss.base.errors import InputError
from snapgloss.rigs.description import RigDescription
from snapgloss.rigs.heat_model import FIGURES, Array, Log, readings_c

DEAD_S = (0, 2, 4, 8, 12, 16, 24)
SAID_LOG_SD = np.array([0.04, 0.35, 0.35, 0.35, 0.35, 0.8])
"""How far a figure usually is from what is said of it: the label is good, mains move by some per
cent, the rest is a guess (own choice)."""
BESIDE_SD = np.array([15.0, 3.0, 0.02, 0.5, 0.15, 0.6])
"""Of BESIDE: a heated plate is some 10 degC over its chocolate; 1590 to 1670 J/kg K (Beckett 2009
p. 667); how well a room is known, by a probe that is off by half a degree (own choice)."""
FURTHEST = np.concatenate([np.full(len(FIGURES), 1.5), [60.0, 30.0, 0.1, 3.0, 0.39, 2.0]])
"""No figure is more than 4.5 times what was said, or less than that part of it."""
ELEMENT_S = 8.0
"""Usual lag of a heater's element; assumption."""
PLATE_PART = 0.6
"""Usual share of the loss in still air that leaves by the plate; assumption, as in `doubt`."""
NOISE_C = 0.03
"""DS18B20: a step of 0.0625 is worth 0.018, and as much again for its noise (assumption)."""
NUDGE = 1e-4
TOGETHER = 5
"""So many readings are compared in one: nothing in a bowl is as quick as that (own choice)."""
LEAST_S = 600
LEAST_MOVE_C = 5.0


class Fit(NamedTuple):
    """`figures` by name in their own units; `log_cov` of their logarithms, in the order of
    FIGURES; `dead_s` the best of the grid, `rms_c` of the readings about its `model_c`."""

    figures: dict[str, float]
    log_cov: Array
    dead_s: int
    rms_c: float
    model_c: Array

    def log_sd(self, name: str) -> float:
        """Return the standard deviation of a figure's logarithm: 0.1 is about 10 %."""
        at = FIGURES.index(name)
        return float(np.sqrt(self.log_cov[at, at]))


class _Try(NamedTuple):
    """A fit with one dead time: all unknowns, half of the sum of squares."""

    dead_s: int
    found: Array
    log_cov: Array
    cost: float
    model_c: Array


def learn(log: Log, said: RigDescription) -> Fit:
    """Return the fit of a run on a rig described as `said`.

    Raises InputError when the run is too short, or too even to learn from.
    """
    _check(log)
    first_c = float(log.product_c[np.isfinite(log.product_c)][0])
    guess = np.concatenate([
        np.log([getattr(said, name) for name in FIGURES]),
        [first_c, first_c, 0.0, 0.0, PLATE_PART, np.log(ELEMENT_S)],
    ])  # fmt: skip
    tries, begin = [], guess
    for dead_s in DEAD_S:
        tries.append(_fitted(log, guess, begin, dead_s))
        begin = tries[-1].found
    return _weighed(log, tries)


def _weighed(log: Log, tries: Sequence[_Try]) -> Fit:
    """Return the mean over the dead times, each weighed by its likelihood, and its doubt."""
    costs = np.array([one.cost for one in tries])
    weights = np.exp(costs.min() - costs)
    weights /= weights.sum()
    logs = np.array([one.found[: len(FIGURES)] for one in tries])
    mean = weights @ logs
    apart = logs - mean
    log_cov: Array = np.einsum("t,tij->ij", weights, np.array([one.log_cov for one in tries]))
    log_cov += np.einsum("t,ti,tj->ij", weights, apart, apart)
    best = tries[int(np.argmin(costs))]
    figures = dict(zip(FIGURES, (float(one) for one in np.exp(mean)), strict=True))
    rms_c = float(np.nanstd(best.model_c - log.product_c))
    return Fit(figures, log_cov, best.dead_s, rms_c, best.model_c)


def learned_rig(said: RigDescription, fit: Fit) -> RigDescription:
    """Return the description with the fitted figures in it, each within the device's limits.

    A heater that was described as one that needs no sense of its switch stays one.
    """
    changed: dict[str, Any] = {name: _within(name, fit.figures[name]) for name in FIGURES}
    changed["heater_w"] = round(changed["heater_w"])
    if not said.has_sense:
        changed["heater_w"] = min(changed["heater_w"], FREE_W)
    known = {name: round(min(200.0, max(0.1, 100.0 * fit.log_sd(name))), 1) for name in FIGURES}
    changed["known_percent"] = known
    return RigDescription.model_validate({**said.model_dump(), **changed})


def _within(name: str, value: float) -> float:
    bounds: dict[str, Any] = {
        type(one).__name__: one for one in RigDescription.model_fields[name].metadata
    }
    return round(min(float(bounds["Le"].le), max(float(bounds["Ge"].ge), value)), 2)


def _check(log: Log) -> None:
    known = log.product_c[np.isfinite(log.product_c)]
    if len(known) < LEAST_S or np.ptp(known) < LEAST_MOVE_C:
        raise InputError(
            f"There is too little to learn from: {len(known)} readings of liquid chocolate"
            + (f" within {np.ptp(known):.1f} °C." if len(known) else "."),
            f"A run needs {LEAST_S // 60} min and {LEAST_MOVE_C:g} °C: melt and cool once.",
        )


def _fitted(log: Log, guess: Array, begin: Array, dead_s: int) -> _Try:
    """Return the fit with this dead time, begun where the last one ended."""
    there = np.isfinite(log.product_c)
    said_sd = np.concatenate([SAID_LOG_SD, BESIDE_SD])

    def residuals(sets: Array) -> Array:
        model_c = readings_c(sets, log, dead_s)[there]
        off = _together(model_c - log.product_c[there, None]) / (NOISE_C * np.sqrt(_memory_s(log)))
        weak = (sets - guess) / said_sd
        stacked: Array = np.concatenate([off, weak.T])
        return stacked

    once = _Once(residuals)
    bounds = (guess - FURTHEST, guess + FURTHEST)
    found = least_squares(once.value, begin, jac=once.slopes, bounds=bounds, max_nfev=30)
    model_c = readings_c(found.x[None, :], log, dead_s)[:, 0]
    cov = np.linalg.inv(found.jac.T @ found.jac) * _spread((model_c - log.product_c)[there])
    count = len(FIGURES)
    return _Try(dead_s, found.x, cov[:count, :count], found.cost, model_c)


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


def _together(off_c: Array) -> Array:
    """Return rows taken `TOGETHER` at a time, each worth as much as those it is made of."""
    firsts = np.arange(0, len(off_c), TOGETHER)
    counts = np.diff(np.append(firsts, len(off_c)))
    sums: Array = np.add.reduceat(off_c, firsts, axis=0) / np.sqrt(counts)[:, None]
    return sums


def _memory_s(log: Log) -> float:
    """Seconds over which one reading says the same as the next: what the model leaves out is
    slow, so 1 Hz readings count as so many fewer (assumption)."""
    return min(60.0, len(log.product_c) / 20.0)


def _spread(off_c: Array) -> float:
    """Return how much worse the model fits than noise alone would: the covariance grows by it."""
    return max(1.0, float(np.mean(off_c**2)) / NOISE_C**2)
