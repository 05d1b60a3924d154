"""The parts of a smooth cooling curve: its first fall, its turn, and its end."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.curve_smooth import Smooth

Floats = NDArray[np.float64]

ALREADY_S = 30.0
"""A log that begins in mid-fall began at least so long after the dip."""
_LEAST_OVER_C = 3.0
_LEAST_TAIL_POINTS = 8
_LEAST_TAIL_DROP = 0.15
_TAIL_BELOW_C, _TAIL_ABOVE_C = 6.0, 0.5


HEADING_SPREAD_C, HEADING_BEYOND = 0.15, 0.22


class Heading(NamedTuple):
    """Where the end of a curve is heading, and how far that may be off: more, the further it is
    from where the curve ends."""

    at_c: float
    spread_c: float


class Turn(NamedTuple):
    """The local maximum of the slope: its point, and how far the slope lies lower around it."""

    point: int
    rise_c_per_s: float
    """From the lowest slope before."""
    drop_c_per_s: float
    """To the lowest slope after."""


def turn_of(line: Smooth) -> Turn | None:
    """Return the most prominent local maximum of dT/dt; None when there is none."""
    slope = line.slope_c_per_s
    tops = 1 + np.flatnonzero((slope[1:-1] > slope[:-2]) & (slope[1:-1] >= slope[2:]))
    turns = [_around(slope, int(top)) for top in tops]
    return max(turns, key=lambda turn: min(turn[1:]), default=None)


def _around(slope: Floats, top: int) -> Turn:
    higher = np.flatnonzero(slope > slope[top])
    split = int(np.searchsorted(higher, top))
    left = int(higher[split - 1]) + 1 if split else 0
    right = int(higher[split]) if split < len(higher) else len(slope)
    before, after = slope[left : top + 1].min(), slope[top:right].min()
    return Turn(top, float(slope[top] - before), float(slope[top] - after))


def apparent_tau_s(line: Smooth, bath_c: float) -> float | None:
    """Return the least of (T - T_b) / -dT/dt, the time constant if no crystal gave off heat.

    None where the curve never falls.
    """
    over_c, slope = line.celsius - bath_c, line.slope_c_per_s
    falls = (slope < 0) & (over_c > _LEAST_OVER_C)
    return float(np.min(-over_c[falls] / slope[falls])) if falls.any() else None


def dip_s(line: Smooth) -> float:
    """Return the moment when the sample went into the cold, or the first when it was in already.

    Taken where the slope passes half of its steepest.
    """
    slope = line.slope_c_per_s
    steepest = int(np.argmin(slope))
    slower = np.flatnonzero(slope[: steepest + 1] > slope[steepest] / 2)
    return float(line.seconds[slower[-1]] if len(slower) else line.seconds[0] - ALREADY_S)


def heading_of(line: Smooth, turn: int) -> Heading | None:
    """Return where the end of the curve is heading: T where its slope would be 0.

    A straight line through T over dT/dt of the last half of the last fall. None where the curve
    ends before that fall has slowed down, or heads nowhere sensible.
    """
    slope, celsius = line.slope_c_per_s, line.celsius
    steepest = turn + int(np.argmin(slope[turn:]))
    begin = steepest + (len(slope) - steepest) // 2
    if len(slope) - begin < _LEAST_TAIL_POINTS or slope[steepest] >= 0:
        return None
    at_end = float(np.mean(slope[-max(3, len(slope) // 20) :]))
    if 1 - at_end / slope[steepest] < _LEAST_TAIL_DROP:
        return None
    # The noise is in the slope, so it is the slope that is fitted.
    per_s, at_zero = np.polyfit(celsius[begin:], slope[begin:], 1)
    if per_s >= 0:
        return None
    heading_c, lowest_c = float(-at_zero / per_s), float(celsius.min())
    sensible = lowest_c - _TAIL_BELOW_C < heading_c < lowest_c + _TAIL_ABOVE_C
    if not sensible:
        return None
    beyond_c = max(float(celsius[-1]) - heading_c, 0.0)
    return Heading(heading_c, HEADING_SPREAD_C + HEADING_BEYOND * beyond_c)


def nearest(line: Smooth, at_s: float) -> int:
    """Return the point of the line nearest to a moment."""
    point = round((at_s - line.seconds[0]) / step_s_of(line))
    return int(min(max(point, 0), len(line.seconds) - 1))


def step_s_of(line: Smooth) -> float:
    """Return the seconds from point to point."""
    return float(line.seconds[1] - line.seconds[0])
