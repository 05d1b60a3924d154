"""The bench of the window: its calibration error, its makers, and when it fails."""

import json
import sys
import tomllib

import numpy as np
import pytest

import window


def test_the_calibration_error_of_a_worked_example() -> None:
    """Three bins by hand: |0.25-0|*2/6, |0.55-0.5|*2/6 and |0.95-1|*2/6 (Naeini et al. 2015)."""
    foretold, right = [0.22, 0.28, 0.52, 0.58, 0.93, 0.97], [0, 0, 1, 0, 1, 1]
    found = window.calibration_error(foretold, right)
    assert found == pytest.approx((0.25 + 0.05 + 0.05) * 2 / 6)


def test_calibrated_forecasts_have_none_and_certain_wrong_ones_all() -> None:
    """0 for drawn outcomes of their own probability, to noise; 1 for 1.0 that never comes."""
    random = np.random.default_rng(1)
    foretold = random.random(100_000)
    assert window.calibration_error(foretold, random.random(100_000) < foretold) < 0.01
    assert window.calibration_error([1.0, 1.0], [False, False]) == 1.0


def test_makers_are_those_of_the_file() -> None:
    """Spreads and half widths of drawn makers; the usual schedule suits fewer than 60 in 100."""
    population = tomllib.loads(window.POPULATION.read_text(encoding="utf-8"))
    random = np.random.default_rng(1)
    makers = [window.draw(population, random) for _ in range(4000)]
    assert np.std([one.middle_c for one in makers], axis=0) == pytest.approx([0.8, 0.5], rel=0.05)
    halves = np.array([one.half_c for one in makers])
    assert (halves.min(), halves.max()) == pytest.approx((0.3, 0.8), abs=0.01)
    assert 0.3 < np.mean([one.is_right(0.0, 0.0) for one in makers]) <= 0.60


def test_corners() -> None:
    """With corners a batch in both ranges is right; in the ellipse the corner is not."""
    for corners, is_right in ((0.0, True), (1.0, False)):
        maker = window.Maker((0.0, 0.0), (0.5, 0.5), 0.85, corners)
        assert maker.is_right(0.45, 0.45) is is_right
        assert maker.is_right(0.45, 0.0)
        assert not maker.is_right(0.55, 0.0)


def test_a_small_trial_repeats_and_learns() -> None:
    """A seed gives the same makers; after 20 batches more are right than by the template."""
    population = tomllib.loads(window.POPULATION.read_text(encoding="utf-8"))
    one, other = (window.trial(1, 20, "good", population) for _ in range(2))
    del one["seconds"], other["seconds"]
    assert one == other
    assert one["success_share"]["20"] > one["template_success_share"]["20"]


@pytest.mark.parametrize(
    ("success", "code", "missed"), [(0.90, 0, []), (0.8999, 1, ["success_share_15"])]
)
def test_the_exit_code_says_what_was_missed(monkeypatch, capsys, success, code, missed):
    """0 when all that was asked was reached."""
    found = {
        "success_share": {"3": 0.5, "8": 0.7, "15": success, "20": 0.9},
        "template_success_share": dict.fromkeys(("3", "8", "15", "20"), 0.4),
        "calibration_error": 0.02,
    }
    monkeypatch.setattr(window, "trial", lambda *_: dict(found))
    monkeypatch.setattr(sys, "argv", ["window.py", "--json"])
    assert window.main() == code
    assert json.loads(capsys.readouterr().out)["missed"] == missed
