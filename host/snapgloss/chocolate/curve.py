"""A cooling curve of a small sample, and the set ratio read from it.

Warm chocolate in a tube is put into a cold block or bath. It falls first as anything would; then
the heat of its crystals bends the curve. The turn is where the slope dT/dt has its local maximum
after the first fall. With T_i and S the temperature and slope there, tau the time constant of the
sample and T_b the cold,

    R = 1 + tau * S / (T_i - T_b)

is the heat of crystals over the heat lost at that moment: 1 on a plateau, more when the sample
warms up again (few crystals, set late), less when the curve only bends (many, set early).

The definition is our own, without a unit, so that it carries from rig to rig. More seed sets
warmer and earlier: Kinta & Hartel, J. Am. Oil Chem. Soc. 87 (2010) 19 (abstract). The three shapes
of the curve are those of the chocolate handbooks (from memory). R mixes seed mass and seed number:
a very fine seed powder reads as under although it sets well, so bands are kept for each method.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from snapgloss.chocolate.curve_balance import Balance, Known, balance_of
from snapgloss.chocolate.curve_checks import (
    check_scatter,
    check_seen,
    loss_c_per_s,
    no_cold,
    no_turn,
    scattered,
    set_ratio_of,
    turn_over_c,
)
from snapgloss.chocolate.curve_readings import (
    CurveNotUsable,
    Readings,
    after,
    check_still,
    checked_bath_c,
    fall_s,
    readings_of,
    without_still_end,
)
from snapgloss.chocolate.curve_smooth import Smooth, smooth
from snapgloss.chocolate.curve_turn import (
    Turn,
    apparent_tau_s,
    dip_s,
    heading_of,
    nearest,
    step_s_of,
    turn_of,
)

ROUGH_PERIOD_S = 60.0
FALL_PERIOD, TURN_PERIOD, EARLY_PERIOD, TAIL_PERIOD = 0.5, 0.4, 0.25, 1.0
"""What is smoothed away, as shares of tau, to see each part of the curve."""
FINEST_PERIOD, COARSEST_PERIOD = 0.25, 0.8
NOISE_AIM = 0.004
"""The turn is smoothed so far that noise moves the set ratio by about this."""
SETTLE_S, BEGIN_S = 40.0, 40.0
"""Left out after the dip: the edge cools before the axis follows; and again before the balance."""
LEAST_FALL_C = 4.0
LEAST_TAU_S, MOST_TAU_S = 60.0, 1200.0
"""A bare probe is quicker; a tube that nobody put into the cold is slower."""
PROBE_LAG_S, MOST_LAGGED = 16.0, 0.01
"""Usual lag of a probe in chocolate, and the most that is put back for it, over the first fall."""
MOST_BATH_OFF_C = 4.5
METHOD_ERROR = 0.01
"""Of the set ratio, by smoothing and the place of the probe, in trials on simulated curves."""


@dataclass(frozen=True, slots=True)
class CurveFeatures:
    """What a cooling curve shows. Seconds are those of the readings."""

    set_ratio: float
    set_ratio_error: float
    """Standard error by noise, time constant and cold."""
    turn_s: float
    turn_c: float
    slope_c_per_min: float
    tau_s: float
    bath_c: float
    stated_bath_c: float | None
    noise_c: float
    readings: int


def features_of(
    seconds: ArrayLike, celsius: ArrayLike, bath_c: float | None = None
) -> CurveFeatures:
    """Return the features of a cooling curve.

    `seconds` rising, `celsius` equally many in °C, nan for a missing reading; `bath_c` what the
    cold's thermometer says, None where nobody looked. The cold is then taken from the end of the
    curve, and so it is when what was said does not fit. Raises CurveNotUsable, one sentence with
    the reason, when no set ratio can be told.
    """
    stated_c = checked_bath_c(bath_c)
    readings = readings_of(seconds, celsius)
    guess_c = stated_c if stated_c is not None else float(readings.celsius.min()) - 1.5
    rough = smooth(readings, ROUGH_PERIOD_S)
    rough_tau_s = _rough_tau_s(readings, rough, guess_c)
    check_scatter(rough.noise_c)
    readings = without_still_end(readings, rough_tau_s, stated_c)
    check_still(readings, rough_tau_s)
    readings = after(readings, dip_s(rough) + SETTLE_S)
    line = smooth(readings, _period(TURN_PERIOD, rough_tau_s))
    turn = _turn(line)
    balance = _balance(readings, line.seconds[turn.point], rough_tau_s, stated_c)
    lagged = _lagged_c_per_s(line, turn)
    line, turn = _seen_finely(readings, line, turn, balance)
    check_seen(readings.seconds, line, turn, balance)
    _check_bath(balance.bath_c, stated_c)
    return _features(readings, line, turn, balance, stated_c, lagged)


def _period(share: float, tau_s: float) -> float:
    return max(share * tau_s, ROUGH_PERIOD_S * share)


def _rough_tau_s(readings: Readings, line: Smooth, bath_c: float) -> float:
    """The time constant to smooth by; refuses what cools like no sample."""
    if np.ptp(line.celsius) > LEAST_FALL_C and fall_s(readings) < LEAST_TAU_S:
        raise CurveNotUsable(
            "it jumps faster than a sample cools",
            "Put the probe into the middle of the chocolate.",
        )
    tau_s = apparent_tau_s(line, bath_c)
    if np.ptp(line.celsius) < LEAST_FALL_C or tau_s is None or tau_s > MOST_TAU_S:
        raise CurveNotUsable("the sample hardly cools", "Put the tube into the cold block.")
    if tau_s < LEAST_TAU_S:
        raise scattered()
    return tau_s


def _turn(line: Smooth) -> Turn:
    turn = turn_of(line)
    if turn is None:
        raise no_turn()
    return turn


def _balance(
    readings: Readings, turn_s: float, rough_tau_s: float, stated_c: float | None
) -> Balance:
    tail = smooth(readings, _period(TAIL_PERIOD, rough_tau_s))
    known = Known(stated_c, heading_of(tail, nearest(tail, turn_s)))
    if known == (None, None):
        raise no_cold(tail)
    fall = smooth(readings, _period(FALL_PERIOD, rough_tau_s))
    if not (fall.slope_c_per_s < 0).any():
        raise no_turn()
    early = smooth(readings, _period(EARLY_PERIOD, rough_tau_s))
    begin, turn = int(BEGIN_S / step_s_of(early)), nearest(early, turn_s)
    if begin >= turn:
        raise CurveNotUsable("it begins too late", "Begin when the tube goes into the cold.")
    return balance_of(early, begin, turn, fall, known)


def _seen_finely(
    readings: Readings, line: Smooth, turn: Turn, balance: Balance
) -> tuple[Smooth, Turn]:
    """The turn again, smoothed no more than the noise asks for: the error falls as period^1.5."""
    noise = line.slope_error_c_per_s / loss_c_per_s(line, turn, balance)
    share = TURN_PERIOD * (noise / NOISE_AIM) ** (2 / 3)
    share = min(max(share, FINEST_PERIOD), COARSEST_PERIOD)
    fine = smooth(readings, _period(share, balance.tau_s))
    return fine, _turn(fine)


def _lagged_c_per_s(line: Smooth, turn: Turn) -> float:
    """What a probe that lags by L takes off a peak of the slope: L^2/2 of its bend, °C/s >= 0."""
    around = line.slope_c_per_s[turn.point - 1 : turn.point + 2]
    bend = float(around[0] - 2 * around[1] + around[2]) / step_s_of(line) ** 2
    most = MOST_LAGGED * abs(float(line.slope_c_per_s.min()))
    return min(max(-bend, 0.0) * PROBE_LAG_S**2 / 2, most)


def _check_bath(bath_c: float, stated_c: float | None) -> None:
    if stated_c is not None and abs(bath_c - stated_c) > MOST_BATH_OFF_C:
        raise CurveNotUsable(
            f"it heads for {bath_c:.0f} °C, not for the {stated_c:.0f} °C stated",
            "Measure the cold with the same probe, and leave the tube in it.",
        )


def _features(
    readings: Readings, line: Smooth, turn: Turn, balance: Balance, stated_c: float | None,
    lagged_c_per_s: float,
) -> CurveFeatures:  # fmt: skip
    turn_c, slope = (
        float(line.celsius[turn.point]),
        float(line.slope_c_per_s[turn.point]) + lagged_c_per_s,
    )
    over_c = turn_over_c(line, turn, balance)
    loss, ratio = over_c / balance.tau_s, set_ratio_of(slope, over_c, balance.tau_s)
    parts = (
        line.slope_error_c_per_s / loss,
        balance.ratio_error(ratio, over_c),
        METHOD_ERROR,
    )
    return CurveFeatures(
        set_ratio=ratio,
        set_ratio_error=float(np.linalg.norm(parts)),
        turn_s=float(line.seconds[turn.point]),
        turn_c=turn_c,
        slope_c_per_min=slope * 60,
        tau_s=balance.tau_s,
        bath_c=balance.bath_c,
        stated_bath_c=stated_c,
        noise_c=line.noise_c,
        readings=len(readings.seconds),
    )
