"""The bench of causes: its crystals are the program's own, and its faults reach the rules only by
what they do."""

import numpy as np
import pytest

import causes
from snapgloss.chocolate.crystals import Crystals
from spoilt.crystal_lanes import CrystalLanes
from spoilt.draw import FAULTS, draw_names, healthy


def test_lanes_grow_as_one_body_does():
    """Every 2 s over a melt, a low point, a rewarm and a cold mould, to rounding."""
    one = Crystals(0.02, 0.01, depression_k=1.3)
    start = [np.array([value]) for value in (0.02, 0.01, 0.02, 1.3, 1.0, 1.0)]
    lanes = CrystalLanes(*start)
    corners_c = np.interp(np.arange(0, 2400, 2), [0, 600, 900, 1500, 2400], [27, 26, 34, 31, 10])
    for at_c in corners_c.tolist():
        heat = one.step(2.0, at_c, 0.7)
        assert lanes.step(2.0, np.array([at_c]), 0.7)[0] == pytest.approx(heat, rel=1e-6, abs=1e-6)
    assert (lanes.v[0], lanes.u[0], lanes.n[0]) == pytest.approx((one.v, one.u, one.n), rel=1e-6)


def test_one_batch_in_four_has_two_faults():
    """A quarter of many draws, and never two for one rule or of two methods."""
    names = draw_names(np.random.default_rng(3), 2000)
    two = [own for own in names if len(own) == 2]
    assert 0.2 < len(two) / len(names) < 0.3
    for first, second in two:
        methods = {FAULTS[first][1], FAULTS[second][1]} - {None}
        assert len(methods) < 2
        assert FAULTS[first][0] != FAULTS[second][0]


def test_a_fault_changes_the_kitchen_and_nothing_else():
    """What a fault may write is an array of the kitchen; marks and evidence are none of them."""
    made = healthy(np.random.default_rng(4), 3)
    for _key, _method, spoil in FAULTS.values():
        before = set(vars(made))
        spoil(made, 0, np.random.default_rng(5))
        assert set(vars(made)) == before


@pytest.fixture(scope="module")
def found():
    """A few batches of one seed."""
    return causes.run(21, drawn=40, well=20)


def test_a_few_batches_are_explained(found):
    """Most are right in the first two, no healthy one is blamed, faults without a mark counted."""
    result = causes.result_of(21, found, bad=40)
    assert result["right_share"] >= 0.8
    assert result["healthy_quiet_share"] >= 0.9
    assert result["borne"] + result["bad"] == 40


def test_a_bench_of_too_few_or_wrong_batches_fails(found):
    """Too few batches, a share under its bound: exit code 1."""
    result = causes.result_of(21, found)
    assert causes.has_failed(result)
    full = {**result, "bad": 500, "healthy": 100, "right_share": 0.9, "healthy_quiet_share": 0.97}
    assert not causes.has_failed(full)
    assert causes.has_failed({**full, "right_share": 0.899})
    assert causes.has_failed({**full, "healthy_quiet_share": 0.96})
