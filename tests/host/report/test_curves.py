"""Readings as arrays: breaks where nothing was recorded, degrees of either scale."""

import math

import numpy as np
import pytest

from snapgloss.base.records import Reading
from snapgloss.report.curves import STRIP_COLUMNS, curves_of, gaps_min, in_columns


def _reading(at_s: float, product_mc: int | None = 30_000, heat: int = 0) -> Reading:
    return Reading(
        0, int(at_s * 1000), "working", 5, 31_500, product_mc, None, None, heat, 0, 0, 0
    )


def test_a_gap_breaks_the_line():
    """Between readings 60 s apart stands a NaN, half-way; 3 s apart there is none."""
    readings = [_reading(0), _reading(3), _reading(63)]
    curves = curves_of(readings, 0, fahrenheit=False)
    assert curves.minutes.tolist() == pytest.approx([0, 0.05, 0.55, 1.05])
    assert [math.isnan(c) for c in curves.chocolate] == [False, False, True, False]
    assert gaps_min(readings, 0) == [(0.05, 1.05)]


def test_a_missing_reading_is_a_break_too():
    """None becomes NaN, never 0."""
    curves = curves_of([_reading(0), _reading(1, None), _reading(2)], 0, fahrenheit=False)
    assert [math.isnan(c) for c in curves.chocolate] == [False, True, False]


def test_fahrenheit_by_definition_of_the_scale():
    """30 degC is 86 degF."""
    assert curves_of([_reading(0)], 0, fahrenheit=True).chocolate.tolist() == [86.0]


def test_before_the_start_is_left_out():
    """Time is counted from the start; earlier readings are no part of the picture."""
    curves = curves_of([_reading(0), _reading(60), _reading(61)], 60_000, fahrenheit=False)
    assert curves.minutes[0] == 0
    assert len(curves.minutes) == 2


def test_a_column_is_the_mean_of_its_seconds():
    """Heat on every other second at 100 % is 50 % in each column; empty columns are NaN."""
    minutes = np.arange(6000) / 60
    edges, mean = in_columns(minutes, (np.arange(6000) % 2) * 100.0)
    assert len(edges) == STRIP_COLUMNS + 1
    assert mean == pytest.approx([50.0] * STRIP_COLUMNS, abs=3)
    _, sparse = in_columns(np.array([0.0, 100.0]), np.array([10.0, np.nan]))
    assert sparse[0] == 10.0
    assert np.isnan(sparse[1:]).all()
