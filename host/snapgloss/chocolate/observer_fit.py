"""How fast the crystals of a recipe grow, fitted to its cooling curves; and what one cannot tell.

Each curve is simulated as one body with `crystals` in it, seen through a lag; common to all curves
is the growth rate, each curve has its own seed, time constant and lag. In one curve growth and
seed can hardly be told apart: much seed that grows slowly looks like little that grows fast. So
the correlation of the two is part of the answer, and nothing is shown to a person before
LEAST_CURVES curves of the recipe stand behind the rate. Seed is then read from each new curve with
the rate held, and is worth something only beside other readings of the same recipe.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.chocolate.crystals import DEFAULT_RATES, CrystalRates, Crystals
from snapgloss.chocolate.curve import CurveFeatures
from snapgloss.chocolate.curve_fit import least_squares
from snapgloss.chocolate.curve_readings import after, readings_of
from snapgloss.chocolate.curve_smooth import smooth

Floats = NDArray[np.float64]

LEAST_CURVES, MOST_CURVES = 3, 8
"""Fewer calibrate nothing; more than these only take time, so the newest count."""
POINTS, PERIOD_SHARE = 50, 0.25
AFTER_TURN = 0.7  # of tau: what is seen of the curve behind its turn
MISFIT_C, INDEPENDENT = 0.15, 12
"""By which the model may be wrong in a point, and how many points of a smooth curve count."""
RATE_SPREAD, SEED_SPREAD, TAU_SPREAD = 1.0, 3.0, 0.05
LAG_S, LAG_SPREAD_S = 40.0, 25.0
"""Beliefs: log of rate and seed over their usual, log of tau over what the check found, lag."""
USUAL_SEED = 0.01
RATE_LOW, RATE_HIGH, SEED_LOW, SEED_HIGH = 0.05, 20.0, 1e-5, 0.5


class Sample(NamedTuple):
    """A curve that was found usable: its readings, and what the temper check read from them."""

    seconds: Sequence[float]
    celsius: Sequence[float]
    features: CurveFeatures


class Growth(NamedTuple):
    """What the curves say. `correlations` are those of growth with each curve's seed, -1..1."""

    grow_v: float
    """Per minute, as CrystalRates.grow_v."""
    log_sd: float
    """Standard error of its logarithm, by the misfit that is assumed."""
    seeds: tuple[float, ...]
    """Stable share of the fat at the dip of each curve, 0..1: relative."""
    correlations: tuple[float, ...]
    curves: int
    rms_c: float

    @property
    def is_calibrated(self) -> bool:
        """True when enough curves stand behind it for a person to see what rests on it."""
        return self.curves >= LEAST_CURVES

    @property
    def rates(self) -> CrystalRates:
        """The rates of the model with this growth."""
        return replace(DEFAULT_RATES, grow_v=self.grow_v)


class _Curve(NamedTuple):
    at_s: Floats
    celsius: Floats
    slope_c_per_s: float
    """At the first point."""
    tau_s: float
    bath_c: float
    heat_k: float
    """Kelvin of the sample for each J/kg of fat."""
    depression_k: float


def fit_growth(
    samples: Sequence[Sample], fat_share: float, heat_j_per_kg_k: float, depression_k: float = 0.0
) -> Growth:
    """Fit the growth of stable crystals to curves of one recipe.

    `fat_share` 0.2..0.6 of the chocolate, its specific heat in J/kg K, `depression_k` by milk fat.
    The newest MOST_CURVES count. Raises InputError without a curve, or for a share that is none.
    """
    if not samples:
        raise InputError("There is no cooling curve to learn from.", "Take one of this chocolate.")
    if not 0.2 <= fat_share <= 0.6:  # NaN fails this too
        raise InputError(f"{fat_share:g} is no fat share of chocolate.", "Give 0.2 to 0.6.")
    curves = [
        _curve(one, fat_share / heat_j_per_kg_k, depression_k) for one in samples[-MOST_CURVES:]
    ]
    fit = _Fit(curves)
    found = least_squares(fit.residuals, fit.start())
    covariance, at = found.covariance, found.unknowns
    sd = np.sqrt(np.diag(covariance))
    seeds = [1 + 3 * number for number in range(len(curves))]
    return Growth(
        float(np.exp(at[0])),
        float(sd[0]),
        tuple(float(np.exp(at[row])) for row in seeds),
        tuple(float(covariance[0, row] / sd[0] / sd[row]) for row in seeds),
        len(curves),
        fit.rms_c(at),
    )


def _curve(sample: Sample, per_j: float, depression_k: float) -> _Curve:
    """The smooth curve from its dip to a little past its turn, at POINTS points."""
    found = sample.features
    readings = readings_of(sample.seconds, sample.celsius)
    line = smooth(readings, max(PERIOD_SHARE * found.tau_s, 15.0))
    steepest = int(np.argmin(line.slope_c_per_s))
    begin_s = float(line.seconds[steepest])
    end_s = min(found.turn_s + AFTER_TURN * found.tau_s, float(line.seconds[-1]))
    after(readings, begin_s)  # refuses what ends at its dip
    at_s = np.linspace(begin_s, end_s, POINTS)
    celsius = np.interp(at_s, line.seconds, line.celsius)
    slope = float(line.slope_c_per_s[steepest])
    return _Curve(at_s - begin_s, celsius, slope, found.tau_s, found.bath_c, per_j, depression_k)


def simulated_c(
    curve: _Curve, rates: CrystalRates, seed: float, tau_s: float, lag_s: float
) -> Floats:
    """What the probe shows once a second from the first point on, by the crystal model.

    The sample's mean is ahead of axis and probe by `lag_s` (over 0), also at the first point.
    """
    crystals = Crystals(seed, depression_k=curve.depression_k, rates=rates)
    probe_c = float(curve.celsius[0])
    mean_c = probe_c + lag_s * curve.slope_c_per_s
    share = 1.0 - math.exp(-1.0 / lag_s)
    shown = [probe_c]
    for _ in range(int(curve.at_s[-1]) + 1):
        freed_k = crystals.step(1.0, mean_c, 0.0) * curve.heat_k
        mean_c += freed_k + (curve.bath_c - mean_c) / tau_s
        probe_c += (mean_c - probe_c) * share
        shown.append(probe_c)
    return np.array(shown)


class _Fit:
    """Unknowns: log growth; for each curve log seed, log of tau over that found, lag in 25 s."""

    def __init__(self, curves: Sequence[_Curve]) -> None:
        self._curves = curves
        self._known: dict[tuple[int, float, float, float, float], Floats] = {}

    def start(self) -> Floats:
        """Where the fit begins."""
        own = [np.log(USUAL_SEED), 0.0, LAG_S / LAG_SPREAD_S]
        return np.array([np.log(DEFAULT_RATES.grow_v), *own * len(self._curves)])

    def residuals(self, unknowns: Floats) -> Floats:
        """As curve_fit.Residuals: every point of every curve, then the beliefs."""
        self._known.clear()
        return np.stack([self._of_one(one) for one in unknowns.T], axis=1)

    def _of_one(self, unknowns: Floats) -> Floats:
        beliefs = [(unknowns[0] - np.log(DEFAULT_RATES.grow_v)) / RATE_SPREAD]
        rows = []
        for number in range(len(self._curves)):
            log_seed, log_tau, lag = unknowns[1 + 3 * number : 4 + 3 * number]
            rows.append(self._off_c(number, float(unknowns[0]), log_seed, log_tau, lag))
            beliefs += [
                (log_seed - np.log(USUAL_SEED)) / SEED_SPREAD,
                log_tau / TAU_SPREAD,
                lag - LAG_S / LAG_SPREAD_S,
            ]
        weight = 1 / MISFIT_C / np.sqrt(POINTS / INDEPENDENT)
        return np.concatenate([np.concatenate(rows) * weight, beliefs])

    def _off_c(
        self, number: int, log_rate: float, log_seed: float, log_tau: float, lag: float
    ) -> Floats:
        """Measured less simulated at each point."""
        curve = self._curves[number]
        key = (number, log_rate, log_seed, log_tau, lag)
        if key not in self._known:
            rate = float(np.clip(np.exp(log_rate), RATE_LOW, RATE_HIGH))
            seed = float(np.clip(np.exp(log_seed), SEED_LOW, SEED_HIGH))
            rates = replace(DEFAULT_RATES, grow_v=rate)
            tau_s, lag_s = curve.tau_s * float(np.exp(log_tau)), max(lag * LAG_SPREAD_S, 1.0)
            shown = simulated_c(curve, rates, seed, tau_s, lag_s)
            self._known[key] = np.interp(curve.at_s, np.arange(len(shown)), shown)
        return curve.celsius - self._known[key]

    def rms_c(self, unknowns: Floats) -> float:
        """Root mean square of what the fit leaves, degC."""
        points = self._of_one(unknowns)[: POINTS * len(self._curves)]
        return float(
            np.sqrt(np.mean(np.square(points))) * MISFIT_C * np.sqrt(POINTS / INDEPENDENT)
        )
