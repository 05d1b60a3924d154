"""Batches side by side, aligned at a step: how far each lies from its band, where they part."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.base.records import Reading
from snapgloss.quality.spans import gap_over_ms
from snapgloss.quality.words import PROBE_UNCERTAINTY_MC

Floats = NDArray[np.float64]
GRID_S = 10
SMOOTH_S = 11
"""Width of the running medians; a logger slower than that is taken as it is."""
PART_S = 60
"""How long a difference must last: a ladle or an open door is no parting."""
NOISE_SIGMAS = 4.0
ORDER = ("melting", "resting", "cooling", "seeding", "rewarming", "working")


@dataclass(frozen=True)
class Strip:
    """One batch on a grid of 10 s from its aligned step on; NaN where nothing is known.

    `seconds` are negative before that step. `off_c` is how far the chocolate is over (+) or under
    (-) its band, 0 inside: the window in `working`, else the target within the probe's
    uncertainty; NaN for a step without a target, as in a log. `states` is an index into ORDER, -1
    for hands in the bowl and gaps.
    """

    run: int
    seconds: Floats
    product_c: Floats
    off_c: Floats
    states: NDArray[np.int_]
    noise_c: float
    """Standard deviation of the probe's noise, from reading to reading."""


@dataclass(frozen=True)
class Parting:
    """The first moment at which two batches part: seconds since the aligned step began.

    `apart_c` is how far the other batch lies over (+) or under (-) the first one there.
    """

    run: int
    at_s: float
    apart_c: float
    state: str
    beyond_c: float
    """What counts as noise between these two."""


def strip_of(
    run: int, readings: Sequence[Reading], window_mc: tuple[int, int], align: str
) -> Strip:
    """The strip of one run. Raises InputError when it never came to the step `align`."""
    if align not in ORDER:
        raise InputError(
            f'"{align}" is no step.', "Choose melt, rest, cool, seed, rewarm or work."
        )
    zero_ms = next((r.at_ms for r in readings if r.state == align), None)
    if zero_ms is None:
        raise InputError(
            f"Run {run} never came to {align}.", "Align at a step that every batch has."
        )
    kept = [r for r in readings if r.step_no > 0]
    at_ms = np.array([r.at_ms for r in kept], dtype=float)
    product_c = np.array([_c(r.product_mc) for r in kept])
    off_c = np.array([_off_c(r, window_mc) for r in kept])
    states = np.array([ORDER.index(r.state) if r.state in ORDER else -1 for r in kept])
    first_s = -(GRID_S * np.floor((zero_ms - at_ms[0]) / 1000 / GRID_S))
    grid_s = np.arange(first_s, (at_ms[-1] - zero_ms) / 1000 + GRID_S / 2, GRID_S)
    near = _nearest(at_ms, grid_s * 1000 + zero_ms)
    lost = np.abs(at_ms[near] - (grid_s * 1000 + zero_ms)) > gap_over_ms(kept)
    usual_ms = float(np.median(np.diff(at_ms))) if len(at_ms) > 1 else 1000.0
    smooth_c = _medians(product_c, _odd(SMOOTH_S * 1000 / max(1.0, usual_ms)))
    between_c = _between(at_ms, smooth_c, grid_s * 1000 + zero_ms)
    hide = lost | (states[near] < 0)
    return Strip(
        run, grid_s, np.where(lost | np.isnan(smooth_c[near]), np.nan, between_c),
        np.where(hide, np.nan, off_c[near]), np.where(lost, -1, states[near]),
        _noise_c(product_c),
    )  # fmt: skip


def parting(first: Strip, other: Strip) -> Parting | None:
    """Where `other` parts from `first`, from the aligned step on; None where they never do.

    They part when their difference, of medians over 11 s, is larger than the probe's
    uncertainty and than 4 standard deviations of both probes' noise, for 60 s without a break.
    A moment that is missing in either is a break: what nobody recorded parts nobody.
    """
    beyond_c = max(
        PROBE_UNCERTAINTY_MC / 1000,
        NOISE_SIGMAS * float(np.hypot(first.noise_c, other.noise_c)),
    )
    length = int(min(first.seconds[-1], other.seconds[-1]) // GRID_S) + 1
    ours, theirs = (_from_zero(strip, length) for strip in (first, other))
    apart_c = theirs - ours
    began, sign = None, 0
    for at, value in enumerate(apart_c):
        side = int(value > beyond_c) - int(value < -beyond_c)  # 0 for NaN
        if side == 0 or side != sign:
            began, sign = (at if side else None), side
        if began is not None and (at - began) * GRID_S >= PART_S:
            place = int(np.searchsorted(first.seconds, began * GRID_S))
            state = ORDER[first.states[place]] if first.states[place] >= 0 else "hands_in"
            apart = float(apart_c[began])
            return Parting(other.run, float(began * GRID_S), apart, state, beyond_c)
    return None


def _nearest(at_ms: Floats, wanted_ms: Floats) -> NDArray[np.int_]:
    after = np.clip(np.searchsorted(at_ms, wanted_ms), 0, len(at_ms) - 1)
    before = np.clip(after - 1, 0, None)
    sooner = np.abs(at_ms[before] - wanted_ms) <= np.abs(at_ms[after] - wanted_ms)
    return np.where(sooner, before, after)


def _from_zero(strip: Strip, length: int) -> Floats:
    begin = int(np.searchsorted(strip.seconds, 0.0))
    kept = strip.product_c[begin : begin + length]
    return np.concatenate([kept, np.full(length - len(kept), np.nan)])


def _c(mc: int | None) -> float:
    return float("nan") if mc is None else mc / 1000


def _off_c(reading: Reading, window_mc: tuple[int, int]) -> float:
    if reading.product_mc is None:
        return float("nan")
    if reading.state == "working":
        low_mc, high_mc = window_mc
    elif reading.target_mc is None:
        return float("nan")
    else:
        low_mc = reading.target_mc - PROBE_UNCERTAINTY_MC
        high_mc = reading.target_mc + PROBE_UNCERTAINTY_MC
    return (max(reading.product_mc - high_mc, 0) + min(reading.product_mc - low_mc, 0)) / 1000


def _odd(width: float) -> int:
    return max(1, round(width) // 2 * 2 + 1 if width >= 2 else 1)


def _between(at_ms: Floats, values: Floats, wanted_ms: Floats) -> Floats:
    """On the straight line between two readings: a slow logger's are far apart."""
    known = ~np.isnan(values)
    if not known.any():
        return np.full(len(wanted_ms), np.nan)
    return np.interp(wanted_ms, at_ms[known], values[known])


def _medians(values: Floats, width: int) -> Floats:
    """Running medians; a value with no reading near it stays NaN."""
    if len(values) < width or width == 1:
        return values
    half = width // 2
    padded = np.concatenate([np.full(half, np.nan), values, np.full(half, np.nan)])
    windows = np.lib.stride_tricks.sliding_window_view(padded, width)
    known = ~np.all(np.isnan(windows), axis=1)
    found = np.full(len(values), np.nan)
    found[known] = np.nanmedian(windows[known], axis=1)
    return found


def _noise_c(values: Floats) -> float:
    """From second differences, which a steady change leaves at 0: their median size over 0.6745
    (a normal distribution's) and over sqrt(6)."""
    known = values[~np.isnan(values)]
    if len(known) < 3:
        return 0.0
    return float(np.median(np.abs(np.diff(known, 2))) / 0.6745 / np.sqrt(6))
