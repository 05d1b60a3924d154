"""Time constant and cold of a sample, from the heat balance of its curve and what is known of fat.

The least apparent time constant (T - T_b) / -dT/dt of the first fall is too long by up to a half
when much seed gives off heat from the start, and it hangs on T_b, which may be stated wrongly. So
both are fitted, together with seed and growth, to

    1 + tau T' / (T - T_b) = tau q / (T - T_b),   q = per k g(T) (v0 v^2)^(1/3) (level(T) - v)

between fall and turn: growth of stable crystals as in `crystals` (g = ((33.8 - T) / 10)^1.5),
`per` kelvin for each share of the fat that sets, v = v0 + (heat set free so far) / per. Below
20 °C unstable crystals join in, so colder points are left out. Where the curve is whole, all its
heat must be that of the fat.

Every figure below is a weak belief with its spread, not a measurement: it decides only what the
curve leaves open.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.crystals import LATENT_V_J_PER_KG, MELT_V_C, V_LEVELS, CrystalRates
from snapgloss.chocolate.curve_fit import Fitted, least_squares
from snapgloss.chocolate.curve_smooth import Smooth
from snapgloss.chocolate.curve_turn import Heading

Floats = NDArray[np.float64]

POINTS, FALL_POINTS = 40, 60
INDEPENDENT = 12
"""Neighbours on a smooth curve say the same; so many points of it are worth counting."""
COLDEST_C = 20.0
AFTER_TURN = 0.5  # of tau: so far past the turn the balance still holds

MISFIT = 0.07
"""By which our crystals may be wrong, in the set ratio."""
HEAT_J_PER_KG_K = 1600.0  # of chocolate; handbook figures are 1590-1670
FAT_SHARE, FAT_SPREAD = 0.33, 0.2
"""Labels say 0.28-0.40; the spread holds the heat of fat and chocolate too."""
RATE_SPREAD = 0.35
SEED_SHARE, SEED_SPREAD = 0.01, 3.0
DEPRESSION_K, DEPRESSION_SPREAD = 0.7, 0.5
"""Of the melting points: 0 for dark, 1.6 for white chocolate."""
LAG_S, LAG_SPREAD = 80.0, 0.25
"""Axis and probe behind the mean of the sample: radius^2 / 8 diffusivity (8 mm: 60 s; a cylinder
that cools evenly) and the probe's own lag."""
TAU_SHIFT, TAU_SPREAD, TAU_OVER = -0.18, 0.3, 5.0
"""Log of tau over its apparent value; heat of crystals can only make that too long."""
BATH_SPREAD_C, BATH_WRONG, BATH_WRONG_C = 0.2, 0.1, 2.3
"""Of a stated temperature: as a rule right, now and then quite wrong."""
USUAL_BATH_C, USUAL_BATH_SPREAD_C, UNSTATED_SPREAD_C = 11.5, 4.0, 3.0
OTHER_BATH_C = 0.8
LEAST_OVER_C, MOST_TAU_S = 3.0, 1200.0
WHOLE_SHARE, WHOLE_SPREAD = 0.96, 0.08
"""Of what can set, that has set when a whole curve ends."""
STARTS = ((0.003, 0.95), (0.04, 0.7))
"""Where the fit begins: little seed, much seed; each with tau over its apparent value."""

_LEVELS_C, _LEVELS = np.array(V_LEVELS).T
_GROW_PER_S = CrystalRates().grow_v / 60


class Balance(NamedTuple):
    """Time constant and cold of a sample; `spread` is their covariance (log tau, °C)."""

    tau_s: float
    bath_c: float
    spread: Floats

    def ratio_error(self, set_ratio: float, over_c: float) -> float:
        """Standard error of a set ratio `over_c` above the cold, by tau and the cold alone."""
        pull = (set_ratio - 1) * np.array([1.0, 1.0 / over_c])
        square = float(pull @ self.spread @ pull)
        return float(np.sqrt(max(square, 0.0)))


class _Points(NamedTuple):
    """What the fit sees: columns (points, 1); seconds and heat counted from the first."""

    celsius: Floats
    slope: Floats
    elapsed_s: Floats
    degree_s: Floats
    fallen_c: Floats


class Known(NamedTuple):
    """What is said of the cold: as stated, and as the end of the curve shows it; None unknown."""

    stated_c: float | None
    heading: Heading | None


def balance_of(line: Smooth, begin: int, turn: int, fall: Smooth, known: Known) -> Balance:
    """Fit time constant and cold to `line` from its point `begin` to a little past `turn`.

    `fall` is the same curve, smoothed for its first fall: of it the apparent time constant.
    """
    fit = _Fit(line, begin, turn, fall, known)
    runs = (fit.run(bath_c, *start) for bath_c in fit.baths_c() for start in STARTS)
    best: Fitted = min(runs, key=_cost)
    spread = best.covariance[:2, :2]
    return Balance(float(np.exp(best.unknowns[0])), float(best.unknowns[1]), spread)


def _cost(fitted: Fitted) -> float:
    return fitted.cost


class _Fit:
    """The residuals of one curve.

    Unknowns: log tau, T_b, log v0, log rate, log fat (the last two over their usual), depression,
    lag over its usual.
    """

    def __init__(self, line: Smooth, begin: int, turn: int, fall: Smooth, known: Known) -> None:
        degree_s = _sum_up(line)
        headed_c = known.heading.at_c if known.heading else USUAL_BATH_C
        self.bath_c = headed_c if known.stated_c is None else known.stated_c
        falls = np.flatnonzero(fall.slope_c_per_s < 0)
        few = falls[:: max(1, len(falls) // FALL_POINTS)]
        self.fall_c, self.fall_slope = fall.celsius[few, None], fall.slope_c_per_s[few, None]
        at = _chosen(line, begin, turn, float(np.exp(self.log_apparent(self.bath_c)[0])))
        self.points = _points(line, degree_s, begin, at)
        self.end = _points(line, degree_s, begin, np.array([len(line.celsius) - 1]))
        self.known = known
        self.weight = 1 / MISFIT / np.sqrt(len(at) / INDEPENDENT)

    def log_apparent(self, bath_c: Floats | float) -> Floats:
        """Log of the least (T - T_b) / -dT/dt of the fall, for each T_b; s."""
        over_c = self.fall_c - bath_c
        apparent_s = np.where(over_c > LEAST_OVER_C, over_c / -self.fall_slope, MOST_TAU_S)
        return np.asarray(np.log(apparent_s.min(axis=0)), dtype=np.float64)

    def baths_c(self) -> list[float]:
        """Where to begin: the cold as stated, and as the tail shows it when that is another."""
        tail_c = None if self.known.heading is None else self.known.heading.at_c
        if tail_c is None or abs(tail_c - self.bath_c) < OTHER_BATH_C:
            return [self.bath_c]
        return [self.bath_c, tail_c]

    def run(self, bath_c: float, seed: float, tau_share: float) -> Fitted:
        """Fit from one start."""
        log_tau = float(self.log_apparent(bath_c)[0]) + np.log(tau_share)
        start = np.array([log_tau, bath_c, np.log(seed), 0, 0, DEPRESSION_K, 1.0])
        return least_squares(self.residuals, start)

    def residuals(self, unknowns: Floats) -> Floats:
        """As curve_fit.Residuals: the balance at each point, then the beliefs."""
        log_tau, bath_c, log_v0, log_rate, log_fat, depression_k, lag = unknowns
        at, tau_s, v0, lag_s = self.points, np.exp(log_tau), np.exp(log_v0), lag * LAG_S
        per_k = FAT_SHARE * np.exp(log_fat) * LATENT_V_J_PER_KG / HEAT_J_PER_KG_K
        over_c = np.maximum(at.celsius - bath_c, 0.5)
        freed_k = _freed_k(at, tau_s, bath_c)
        # The sample's mean is ahead of its axis, in cooling and in setting.
        v = v0 + (freed_k + lag_s * np.maximum(at.slope + over_c / tau_s, 0)) / per_k
        mean_c = at.celsius + depression_k + lag_s * np.minimum(at.slope, 0)
        q = per_k * np.exp(log_rate) * _growth_per_s(mean_c, v0, np.maximum(v, 1e-6))
        off = 1 + tau_s * (at.slope - q) / over_c
        beliefs = [*self._beliefs(*unknowns), *self._of_cold(bath_c)]
        if self.known.heading is not None:
            all_v = (v0 + _freed_k(self.end, tau_s, bath_c) / per_k)[0]
            level = np.interp(self.end.celsius[0] + depression_k, _LEVELS_C, _LEVELS)
            beliefs.append((all_v - WHOLE_SHARE * level) / WHOLE_SPREAD)
        return np.concatenate([off * self.weight, np.stack(beliefs)])

    def _beliefs(
        self, log_tau: Floats, bath_c: Floats, log_v0: Floats, log_rate: Floats,
        log_fat: Floats, depression_k: Floats, lag: Floats,
    ) -> list[Floats]:  # fmt: skip
        tau_off = (log_tau - self.log_apparent(bath_c) - TAU_SHIFT) / TAU_SPREAD
        return [
            np.where(tau_off > 0, TAU_OVER, 1.0) * tau_off,
            (bath_c - USUAL_BATH_C) / USUAL_BATH_SPREAD_C,
            (log_v0 - np.log(SEED_SHARE)) / SEED_SPREAD,
            log_rate / RATE_SPREAD,
            log_fat / FAT_SPREAD,
            (depression_k - DEPRESSION_K) / DEPRESSION_SPREAD,
            (lag - 1) / LAG_SPREAD,
        ]

    def _of_cold(self, bath_c: Floats) -> list[Floats]:
        found = []
        if self.known.stated_c is None:
            found.append((bath_c - self.bath_c) / UNSTATED_SPREAD_C)
        else:
            found.append(_perhaps_wrong(bath_c - self.known.stated_c))
        if self.known.heading is not None:
            found.append((bath_c - self.known.heading.at_c) / self.known.heading.spread_c)
        return found


def _perhaps_wrong(off_c: Floats) -> Floats:
    """Residual whose square is that of a mixture: mostly near, now and then far off."""
    near = (1 - BATH_WRONG) * np.exp(-np.square(off_c / BATH_SPREAD_C) / 2)
    far_peak = BATH_WRONG * BATH_SPREAD_C / BATH_WRONG_C
    far = far_peak * np.exp(-np.square(off_c / BATH_WRONG_C) / 2)
    less = np.log(1 - BATH_WRONG + far_peak) - np.log(near + far)
    root: Floats = np.sign(off_c) * np.sqrt(np.maximum(2 * less, 0))
    return root


def _growth_per_s(at_c: Floats, v0: Floats, v: Floats) -> Floats:
    """Share of the fat that sets a second, as `crystals` has it for seeds born together."""
    under = np.clip((MELT_V_C - at_c) / 10, 0, 2)
    room = np.maximum(np.interp(at_c, _LEVELS_C, _LEVELS) - v, 0)
    grown: Floats = _GROW_PER_S * under * np.sqrt(under) * np.cbrt(v0 * v * v) * room
    return grown


def _freed_k(at: _Points, tau_s: Floats, bath_c: Floats) -> Floats:
    """Heat of crystals set free since the first point, as kelvin of the sample."""
    return at.fallen_c + (at.degree_s - bath_c * at.elapsed_s) / tau_s


def _sum_up(line: Smooth) -> Floats:
    """Integral of the temperature up to each point, °C s."""
    step_s = line.seconds[1] - line.seconds[0]
    means = (line.celsius[1:] + line.celsius[:-1]) / 2
    return np.concatenate([[0.0], np.cumsum(means * step_s)])


def _chosen(line: Smooth, begin: int, turn: int, apparent_s: float) -> NDArray[np.int_]:
    """Points from `begin` to a little past the turn, none of them too cold for the balance."""
    step_s = line.seconds[1] - line.seconds[0]
    end = min(len(line.celsius) - 1, turn + int(AFTER_TURN * apparent_s / step_s))
    cold = np.flatnonzero(line.celsius[begin:turn] < COLDEST_C)
    if len(cold):
        end = min(end, begin + max(int(cold[0]), int(apparent_s / step_s / 3)))
    return np.unique(np.linspace(begin, end, POINTS).astype(int))


def _points(line: Smooth, degree_s: Floats, begin: int, at: NDArray[np.int_]) -> _Points:
    step_s = line.seconds[1] - line.seconds[0]
    columns = (
        line.celsius[at], line.slope_c_per_s[at], (at - begin) * step_s,
        degree_s[at] - degree_s[begin], line.celsius[at] - line.celsius[begin],
    )  # fmt: skip
    return _Points(*(np.asarray(column, dtype=float)[:, None] for column in columns))
