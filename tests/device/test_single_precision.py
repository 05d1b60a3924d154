"""The board has floats of 24 bits: the probes' curves must not lose a hundredth of a degree."""

import numpy as np
import pytest

from rigfw import estimator, memory
from rigfw.drivers import platinum, thermistor

POINTS_OHM = (32554.0, 10000.0, 3606.0)


@pytest.fixture
def single_log(monkeypatch):
    """A logarithm of single precision, so that everything after it is single, too."""
    monkeypatch.setattr(thermistor, "log", lambda value: np.log(np.float32(value)))
    monkeypatch.setattr(thermistor, "KELVIN", np.float32(thermistor.KELVIN))


@pytest.mark.parametrize("ohm", [32555, 19873, 10000, 8059, 7406, 5330, 3605, 2490, 1070])
def test_a_thermistor_in_single_precision(single_log, ohm):
    """Within 2 mK of double precision, curve and use both in single."""
    in_single = thermistor.celsius(ohm, thermistor.three_point_curve(*POINTS_OHM))
    assert in_single.dtype == np.float32
    ln = np.log(np.array(POINTS_OHM))
    inverse = 1 / (np.array([0.0, 25.0, 50.0]) + 273.15)
    a, b, c = np.linalg.solve(np.stack([np.ones(3), ln, ln**3], axis=1), inverse)
    exact = 1 / (a + b * np.log(ohm) + c * np.log(ohm) ** 3) - 273.15
    assert abs(float(in_single) - exact) < 0.002


@pytest.mark.parametrize("degrees", [-10, 0, 0.01, 20, 31.5, 45, 100])
def test_platinum_in_single_precision(monkeypatch, degrees):
    """Within 1 mK of double precision."""
    exact = 1 + platinum.A * degrees + platinum.B * degrees**2
    monkeypatch.setattr(platinum, "sqrt", lambda value: np.sqrt(np.float32(value)))
    monkeypatch.setattr(platinum, "A", np.float32(platinum.A))
    monkeypatch.setattr(platinum, "B", np.float32(platinum.B))
    in_single = platinum.celsius(np.float32(exact))
    assert in_single.dtype == np.float32
    assert abs(float(in_single) - degrees) < 0.001


def test_a_record_may_say_what_the_rig_itself_may_learn():
    """The ranges of a host's record are those where the estimator's own learning ends, and a
    rounding of single precision; never narrower, or a rig's own figures would be refused."""
    for name, theirs in (("_FAR", "_MOST"), ("_FAR_ROOM_C", "_MOST_ROOM_C")):
        assert 0.0 <= getattr(memory, name) - getattr(estimator, theirs) <= 0.0011
    for name in ("_LAG_LEAST", "_MASS_LEAST"):
        assert 0.0 <= getattr(estimator, name) - getattr(memory, name) <= 0.0011
