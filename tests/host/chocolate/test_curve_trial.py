"""The short form of the trial on simulated curves; the long one is tests/bench/temper_check.py."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "bench"))

from temper_check import BOUNDS, MOST_MS, asked, band, campaign, cases, figures, has_failed
from temper_probe import UNUSABLE
from temper_tube import RINGS, cool, draw, time_constants

CURVES, SEED = 100, 77
LOOSER = 0.05


@pytest.fixture(scope="module")
def tried():
    """A hundred logs of a seed that the check was not adjusted on."""
    return list(cases(CURVES, SEED))


def test_a_hundred_curves_are_read_rightly(tried):
    """Shares at most 0.05 below those of the long form; every useless curve refused."""
    found = figures(tried, [asked(case.log) for case in tried], 0.0)
    for name, bound in BOUNDS.items():
        assert found[name] >= bound - LOOSER, found
    assert found["unusable"] >= 5
    assert set(found["bands"]) == {"under", "in", "over"}


def test_a_check_that_says_one_thing_fails_the_trial(tried):
    """Answers of "in temper" for all, and refusals of all, miss the bounds: the trial can fail."""
    from temper_check import Answer

    always_in = figures(tried, [Answer(1.03, "")] * len(tried), 0.0)
    assert always_in["verdict_right_share"] < 0.8
    assert always_in["refused_right_share"] == 0.0
    never = figures(tried, [Answer(None, "")] * len(tried), 0.0)
    assert never["r_within_003_share"] == 0.0
    assert never["verdict_right_all_share"] == 0.0
    assert has_failed(always_in)
    assert has_failed(never)
    slow = {**dict.fromkeys(BOUNDS, 1.0), "ms_per_curve": MOST_MS + 1}
    assert has_failed(slow)


def test_the_same_seed_gives_the_same_figures():
    """Twice the same; another seed differs."""
    first, again, other = (campaign(30, seed) for seed in (5, 5, 6))
    for found in (first, again, other):
        del found["ms_per_curve"]
    assert first == again
    assert first != other


def test_every_kind_of_useless_curve_is_refused():
    """Each kind on ten samples."""
    rng = np.random.default_rng(123)
    samples = [case.sample for case in cases(10, 124)]
    answered = [
        kind
        for kind, spoil in UNUSABLE.items()
        for sample in samples
        if asked(spoil(sample, rng)).ratio is not None
    ]
    assert answered == []


def test_more_seed_sets_warmer_and_lowers_the_true_ratio():
    """The model's own direction: Kinta & Hartel 2010 (abstract), on one tube."""
    from dataclasses import replace

    from temper_check import true_ratio

    tubes = draw(5, np.random.default_rng(9))
    one = tubes.take(np.zeros(5, dtype=int))
    one = replace(one, seed=np.array([0.001, 0.005, 0.02, 0.06, 0.14]))
    cooled = cool(one)
    found = [true_ratio(cooled, one, number) for number in range(5)]
    ratios = [ratio for ratio, _ in found]
    turns_c = [cooled.axis_c[number][turn] for number, (_, turn) in enumerate(found)]
    assert ratios == sorted(ratios, reverse=True)
    assert turns_c == sorted(turns_c)
    assert [band(ratio) for ratio in (ratios[0], ratios[2], ratios[4])] == ["under", "in", "over"]


def test_the_models_conduction_is_that_of_a_cylinder():
    """Slowest mode of a long cylinder with a film: x J1(x) = Bi J0(x), tau = a^2 / (alpha x^2).

    Roots by scipy; the rings come within 2 %. The open top is shut for this.
    """
    from dataclasses import replace

    import temper_tube
    from scipy.optimize import brentq
    from scipy.special import j0, j1

    tubes = replace(draw(4, np.random.default_rng(4)), mass_kg=np.full(4, 1e3))
    alpha = temper_tube.CONDUCTIVITY / temper_tube.DENSITY / temper_tube.HEAT
    for number, tau_s in enumerate(time_constants(tubes)):
        radius_m = tubes.radius_m[number]
        biot = tubes.film_w_per_m2k[number] * radius_m / temper_tube.CONDUCTIVITY
        root = brentq(lambda x, biot=biot: x * j1(x) - biot * j0(x), 1e-6, 2.4)
        assert tau_s == pytest.approx(radius_m**2 / (alpha * root**2), rel=0.02)
    assert RINGS == 8
