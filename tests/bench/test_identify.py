"""What the host learns from logged runs whose truth is known, on a few drawn rigs."""

import numpy as np
import pytest

import identify
from identify import Job, result_of
from snapgloss.rigs.heat_model import FIGURES
from snapgloss.rigs.learn_log import SETS_BELOW_C
from travels import hostside


@pytest.fixture(scope="module")
def found() -> list[identify.Learned]:
    """Three rigs of a seed."""
    return identify.run(Job(7, 0, 3))


def test_what_a_run_shows_is_learned_and_the_rest_is_doubted(found):
    """Heater and loss within 10 %, the fan within 25 %, plate and lag within their own doubt."""
    bounds = {"heater_w": 0.1, "loss_w_per_k": 0.1, "fan_loss_w_per_k": 0.25}
    for one in found:
        assert one.rms_c < 0.08
        for name, error in one.errors.items():
            assert abs(error.learned) < bounds.get(name, 3.0 * error.sd), name


def test_the_table_is_that_of_its_rigs(found):
    """Every figure has its row; the bias lies between the least error and the greatest."""
    result = result_of(7, found)
    assert (result["rigs"], list(result["learned"])) == (len(found), list(FIGURES))
    heater = [one.errors["heater_w"].learned for one in found]
    assert result["learned"]["heater_w"]["bias"] == pytest.approx(np.median(heater), abs=6e-4)


def test_a_lanes_log_ends_before_crystals_however_long_the_others_run():
    """From 40 degC up to the first reading under 30.5 after the melt, not at the end of all."""
    reading_c = np.concatenate([
        np.linspace(22, 48, 100), np.linspace(48, 28, 100), np.full(100, 31.5), np.full(100, 24.0),
    ])  # fmt: skip
    no = np.repeat([0, 1, 3, 4], 100)
    log = hostside.log_of_lane(no, reading_c, np.zeros(400), np.zeros(400), 2000, 20.0)
    assert 40.0 <= log.product_c[0] < 40.3
    assert SETS_BELOW_C <= log.product_c[-1] < SETS_BELOW_C + 0.3
    assert len(log.heat) == len(log.fan) == len(log.room_c) == len(log.product_c)
