"""Strips: how far from the band, and the first moment two batches part beyond noise."""

import numpy as np
import pytest

from snapgloss.base.errors import InputError
from snapgloss.quality.compare import parting, strip_of

from ..synthetic import SEEDED, synthetic
from .build import Run

WINDOW = (31_000, 32_000)


def _strip(run, number=1, align="working"):
    return strip_of(number, run.readings, WINDOW, align)


def _run(steps, product_mc=31_500, target_mc=31_500):
    """Cooling for 300 s, then `steps` of work: seconds and milli-degC."""
    run = Run().stay("cooling", 300, 33_000, target_mc=33_500)
    for seconds, mc in steps:
        run.stay("working", seconds, mc, target_mc=target_mc)
    return run


def test_a_strip_says_how_far_over_or_under_its_band():
    """Inside 0; over and under by how much; before the step against that step's own target."""
    strip = _strip(_run([(100, 31_500), (100, 32_300), (100, 30_600)]))
    at = dict(zip(strip.seconds.tolist(), strip.off_c.tolist(), strict=True))
    assert at[-300.0] == pytest.approx(0)  # 33.0 for a target of 33.5 within the probe's 0.5
    assert (at[50.0], at[150.0], at[250.0]) == pytest.approx((0, 0.3, -0.4))
    assert strip.seconds[0] == -300 and strip.seconds[-1] == pytest.approx(300, abs=10)


def test_the_first_moment_of_parting_is_found():
    """A difference of 0.7 for more than a minute parts them, when it begins, with its side."""
    first = _strip(_run([(600, 31_500)]))
    other = _strip(_run([(200, 31_600), (400, 32_200)]), 2)
    part = parting(first, other)
    assert (part.run, part.state) == (2, "working")
    assert part.at_s == pytest.approx(200, abs=10)
    assert part.apart_c == pytest.approx(0.7)
    assert parting(other, first).apart_c == pytest.approx(-0.7)


def test_noise_short_dips_and_small_differences_are_no_parting():
    """A ladle of 40 s, and 0.4 degC all along, within the probe's uncertainty."""
    first = _strip(_run([(600, 31_500)]))
    assert parting(first, _strip(_run([(200, 31_500), (40, 30_000), (360, 31_500)]), 2)) is None
    assert parting(first, _strip(_run([(600, 31_900)]), 2)) is None
    noisy = [_strip(synthetic(SEEDED, seed=seed), seed, "seeding") for seed in (1, 2)]
    assert noisy[0].noise_c == pytest.approx(0.03, abs=0.02)  # as the synthetic run was made
    assert parting(*noisy) is None


def test_only_the_work_has_a_band_without_a_target():
    """A log has no targets: its melt at 48 degC is neither over nor under, nor is its cooling."""
    run = Run().stay("melting", 100, 48_000, target_mc=None).stay("cooling", 100, 30_000,
                                                                  target_mc=None)  # fmt: skip
    strip = _strip(run.stay("working", 100, 32_300, target_mc=None))
    assert np.isnan(strip.off_c[strip.seconds < 0]).all()
    assert (strip.states[strip.seconds < 0] >= 0).all()  # the steps are known all the same
    assert strip.off_c[strip.seconds >= 0] == pytest.approx(0.3)


def _parts(*steps):
    """Where a batch parts from one at 31.5: seconds and milli-degC, None for what is lost."""
    run = Run()
    for seconds, mc in steps:
        run = run.lose(seconds) if mc is None else run.stay("working", seconds, mc)
    return parting(_strip(Run().stay("working", 900, 31_500)), _strip(run, 2))


def test_time_that_nobody_recorded_is_no_part_of_a_parting():
    """The 60 s are recorded and without a break: neither before a gap with it, nor around it."""
    apart, same = 32_500, 31_500
    assert _parts((200, same), (20, apart), (100, None), (20, apart), (200, same)) is None
    assert _parts((200, same), (40, apart), (60, None), (40, apart), (200, same)) is None
    assert _parts((200, same), (40, apart), (200, None), (200, same)) is None
    part = _parts((200, same), (40, apart), (100, None), (200, apart))
    assert part.at_s == pytest.approx(340, abs=10)  # where it is known to last, after the gap
    part = _parts((200, same), (100, apart), (100, None), (200, same))
    assert part.at_s == pytest.approx(200, abs=10)  # a gap after the 60 s takes nothing back
    assert _parts((200, same), (100, None), (200, same)) is None


def test_gaps_and_hands_are_hidden():
    """No value inside a gap, and none while hands are in the bowl."""
    run = Run().stay("working", 100, 31_500).lose(60).stay("working", 100, 31_500)
    strip = _strip(run)
    hidden = strip.seconds[np.isnan(strip.off_c)].tolist()
    assert hidden == [110.0, 120.0, 130.0, 140.0, 150.0]
    hands = _strip(Run().stay("working", 50, 31_500).stay("hands_in", 50, 28_000)
                   .stay("working", 50, 31_500))  # fmt: skip
    assert np.isnan(hands.off_c[(hands.seconds >= 50) & (hands.seconds < 100)]).all()


def test_runs_of_other_lengths_are_compared_as_far_as_both_go():
    """A batch that ended early parts from none for that."""
    assert parting(_strip(_run([(600, 31_500)])), _strip(_run([(90, 31_500)]), 2)) is None


def test_a_step_that_never_came_is_named():
    """Aligned at a step the run does not have, and at no step at all."""
    with pytest.raises(InputError, match="Run 1 never came to rewarming"):
        _strip(_run([(60, 31_500)]), align="rewarming")
    with pytest.raises(InputError, match='"pouring" is no step'):
        _strip(_run([(60, 31_500)]), align="pouring")
