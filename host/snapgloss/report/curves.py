"""Readings as arrays for drawing: minutes, degrees, and breaks where nothing was recorded."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.records import Reading
from snapgloss.quality.spans import gap_over_ms
from snapgloss.quality.steps import HANDS_IN

Floats = NDArray[np.float64]
STRIP_COLUMNS = 300


class Curves(NamedTuple):
    """Equal-length arrays over minutes since the start; NaN where missing, and inside gaps."""

    minutes: Floats
    chocolate: Floats
    plate: Floats
    target: Floats
    heat: Floats  # percent
    fan: Floats  # percent
    working: Floats  # 1 in the work, 0 elsewhere
    hands_in: Floats  # 1 while the bowl is lifted, 0 elsewhere


def degrees(mc: Floats | float, fahrenheit: bool) -> Floats:
    """Degrees of the scale shown, from milli-degC."""
    celsius = np.asarray(mc, dtype=float) / 1000
    return celsius * 9 / 5 + 32 if fahrenheit else celsius


def curves_of(readings: Sequence[Reading], zero_ms: int, fahrenheit: bool) -> Curves:
    """The curves of a run from `zero_ms` on."""
    kept = [r for r in readings if r.at_ms >= zero_ms]
    at_ms = np.array([r.at_ms for r in kept], dtype=float)
    after = np.flatnonzero(np.diff(at_ms) > gap_over_ms(kept)) + 1  # where a gap ends

    def column(values: list[float | None], scale: bool) -> Floats:
        array = np.array(values, dtype=float)
        array = degrees(array, fahrenheit) if scale else array
        return np.insert(array, after, np.nan)

    middle_ms = (at_ms[after] + at_ms[after - 1]) / 2
    return Curves(
        (np.insert(at_ms, after, middle_ms) - zero_ms) / 60_000,
        column([r.product_mc for r in kept], True),
        column([r.plate_mc for r in kept], True),
        column([r.target_mc for r in kept], True),
        column([r.heat_permille / 10 for r in kept], False),
        column([r.fan_permille / 10 for r in kept], False),
        column([float(r.state == "working") for r in kept], False),
        column([float(r.state == HANDS_IN) for r in kept], False),
    )


def gaps_min(readings: Sequence[Reading], zero_ms: int) -> list[tuple[float, float]]:
    """Where nothing was recorded: from and to, minutes since the start."""
    over_ms = gap_over_ms(readings)
    at_ms = [r.at_ms for r in readings if r.at_ms >= zero_ms]
    return [
        ((a - zero_ms) / 60_000, (b - zero_ms) / 60_000)
        for a, b in pairwise(at_ms)
        if b - a > over_ms
    ]


def in_columns(minutes: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Column edges and the mean of `values` in each (NaN where there is none): a strip of a few
    hundred columns says as much as thousands of seconds, and draws at once."""
    edges = np.linspace(0, max(float(minutes[-1]), 1e-6), STRIP_COLUMNS + 1)
    where = np.clip(np.searchsorted(edges, minutes, side="right") - 1, 0, STRIP_COLUMNS - 1)
    good = ~np.isnan(values)
    total = np.bincount(where[good], values[good], STRIP_COLUMNS)
    count = np.bincount(where[good], minlength=STRIP_COLUMNS)
    mean = np.divide(total, count, out=np.full(STRIP_COLUMNS, np.nan), where=count > 0)
    return edges, mean
