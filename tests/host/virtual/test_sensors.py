"""Readings as a DS18B20 gives them: steps, noise, drift, range, and no memory."""

import statistics
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kstest

from snapgloss.virtual import sensors
from snapgloss.virtual.sensors import PLATE, PRODUCT, ROOM, reading_mc


@pytest.mark.parametrize(
    ("true_c", "shown_mc"),
    [(85.0, 85000), (25.0625, 25062), (10.125, 10125), (0.0, 0), (-10.125, -10125), (-55, -55000)],
)
def test_quiet_probe_shows_the_data_sheets_values(true_c, shown_mc):
    """The temperature/data table of the DS18B20 data sheet (from memory), rounded down to mc."""
    assert reading_mc(true_c, 1, PRODUCT, 0, noise_c=0.0, drift_c=0.0) == shown_mc


def test_readings_stand_on_sixteenths():
    """Every reading is a sixteenth of a degree, within half a step when quiet."""
    for i in range(2000):
        true_c = 20.0 + i * 0.013
        shown_mc = reading_mc(true_c, 1, PRODUCT, 0, noise_c=0.0, drift_c=0.0)
        assert shown_mc % 125 in (0, 62)
        assert abs(shown_mc / 1e3 - true_c) <= 0.0318


@given(
    seed=st.integers(0, 2**31),
    channel=st.integers(0, 3),
    at_ms=st.integers(0, 10**9),
    true_c=st.floats(-50.0, 120.0),
)
def test_readings_stay_near_the_truth(seed, channel, at_ms, true_c):
    """Noise, drift and rounding together never exceed their bounds, whatever seed and time."""
    bound_c = 3.5 * sensors.NOISE_C + sensors.DRIFT_C + 0.0325
    assert abs(reading_mc(true_c, seed, channel, at_ms) / 1e3 - true_c) <= bound_c


def test_nothing_is_remembered():
    """The same seed, channel and time give the same reading in any order and at any rate."""
    times_ms = list(range(0, 600_000, 250))
    forward = [reading_mc(31.5, 7, PRODUCT, at_ms) for at_ms in times_ms]
    backward = [reading_mc(31.5, 7, PRODUCT, at_ms) for at_ms in reversed(times_ms)]
    assert forward == backward[::-1]
    assert forward[::4] == [reading_mc(31.5, 7, PRODUCT, at_ms) for at_ms in times_ms[::4]]


def test_seeds_and_channels_differ():
    """Another seed or another probe has another noise."""
    draws = {
        (seed, channel): tuple(sensors.noise(seed, channel, ms) for ms in range(0, 5000, 1000))
        for seed in (1, 2, 3)
        for channel in (PRODUCT, PLATE, ROOM)
    }
    assert len(set(draws.values())) == 9


def test_noise_is_bell_shaped():
    """10,000 draws against the normal distribution of scipy: Kolmogorov-Smirnov under 0.02, mean
    and spread to 3 %, successive draws unrelated."""
    draws = [sensors.noise(1, PRODUCT, 1000 * i) for i in range(10_000)]
    assert kstest(draws, "norm").statistic < 0.02
    assert statistics.fmean(draws) == pytest.approx(0.0, abs=0.03)
    assert statistics.pstdev(draws) == pytest.approx(1.0, abs=0.03)
    assert abs(statistics.correlation(draws[:-1], draws[1:])) < 0.03


def test_drift_is_slow_and_starts_at_nothing():
    """Zero at the start, within +-1, and no more than a hundredth from second to second."""
    wander = [sensors.drift(5, PRODUCT, 1000 * i) for i in range(4 * 3600)]
    assert wander[0] == 0.0
    assert max(map(abs, wander)) <= 1.0
    assert max(wander) - min(wander) > 0.2
    assert max(abs(b - a) for a, b in pairwise(wander)) < 0.01


def test_no_reading_where_the_part_has_none():
    """None in, none out; and none beyond -55..125 degC."""
    assert reading_mc(None, 1, PRODUCT, 0) is None
    assert reading_mc(126.0, 1, PRODUCT, 0) is None
    assert reading_mc(-56.0, 1, PRODUCT, 0) is None
