"""Growth fitted to cooling curves, and the templates judged by the bands of the temper check."""

from dataclasses import replace

import numpy as np
import pytest

from snapgloss.base.errors import InputError
from snapgloss.chocolate import types as kinds
from snapgloss.chocolate.crystals import DEFAULT_RATES, Crystals
from snapgloss.chocolate.curve import features_of
from snapgloss.chocolate.heat import melting_depression
from snapgloss.chocolate.observer_fit import LEAST_CURVES, Sample, fit_growth
from snapgloss.quality.temper_bands import Bands

FAT, HEAT = 0.36, 1648.0


def sample(v, grow_v=0.9, tau_s=240.0, seed=1, noise_c=0.05, crystals=None, fat=FAT):
    """A cooled sample: one body and a probe lag of 20 s, bath 12 degC, one reading a second."""
    rates = replace(DEFAULT_RATES, grow_v=grow_v)
    inside = crystals or Crystals(v, rates=rates)
    mean_c = probe_c = 31.5
    shown = [31.5] * 30
    for _ in range(2400):
        shown.append(probe_c)
        for _ in range(4):
            mean_c += inside.step(0.25, mean_c, 0.0) * fat / HEAT
            mean_c += (12.0 - mean_c) / tau_s * 0.25
            probe_c += (mean_c - probe_c) * 0.25 / 20.0
    read_c = np.array(shown) + np.random.default_rng(seed).normal(0.0, noise_c, len(shown))
    seconds = np.arange(float(len(shown)))
    return Sample(seconds, read_c, features_of(seconds, read_c, 12.0))


@pytest.fixture(scope="module")
def three():
    """Three curves of one recipe whose crystals grow at 0.9 a minute."""
    chosen = ((0.01, 240.0), (0.03, 200.0), (0.02, 300.0))
    return [sample(v, tau_s=tau_s, seed=at) for at, (v, tau_s) in enumerate(chosen)]


def test_three_curves_give_growth_and_the_seed_of_each(three):
    """0.9 a minute within 12 %, the seeds within 15 %: the standard error says so too."""
    found = fit_growth(three, FAT, HEAT)
    assert found.is_calibrated and found.curves == LEAST_CURVES
    assert found.grow_v == pytest.approx(0.9, rel=0.12)
    assert found.seeds == pytest.approx((0.01, 0.03, 0.02), rel=0.15)
    assert 0.03 < found.log_sd < 0.2
    assert found.rms_c < 0.05


def test_faster_and_slower_crystals_are_told_apart():
    """0.6 and 1.4 a minute, each by three curves: within 15 %, in their order."""
    fitted = [
        fit_growth(
            [sample(v, rate, seed=at) for at, v in enumerate((0.01, 0.02, 0.03))], FAT, HEAT
        )
        for rate in (0.6, 1.4)
    ]
    assert fitted[0].grow_v == pytest.approx(0.6, rel=0.15)
    assert fitted[1].grow_v == pytest.approx(1.4, rel=0.15)


def test_one_curve_cannot_tell_growth_from_seed(three):
    """The correlation is about -0.98 (worked apart, with 0.05 degC of noise at 1 Hz): so one
    curve calibrates nothing. More curves loosen it."""
    one = fit_growth(three[:1], FAT, HEAT)
    assert not one.is_calibrated
    assert one.correlations[0] == pytest.approx(-0.98, abs=0.015)
    more = fit_growth(three, FAT, HEAT)
    assert min(more.correlations) > one.correlations[0]
    assert more.log_sd < one.log_sd


def test_seed_is_read_relative_to_other_curves(three):
    """Three times the seed reads as about three times, whatever the growth is believed to be."""
    found = fit_growth(three, FAT, HEAT)
    assert found.seeds[1] / found.seeds[0] == pytest.approx(3.0, rel=0.1)


def test_what_cannot_be_fitted_is_refused(three):
    """No curve, and a chocolate without fat."""
    with pytest.raises(InputError, match="no cooling curve"):
        fit_growth([], FAT, HEAT)
    for fat in (0.0, 0.9, float("nan")):
        with pytest.raises(InputError, match="fat share"):
            fit_growth(three, fat, HEAT)


def lead(crystals, from_c, to_c, minutes, shear=1.0):
    """Along a straight line of temperature."""
    count = round(minutes * 240.0)
    for at in range(count):
        crystals.step(0.25, from_c + (to_c - from_c) * (at + 0.5) / count, shear)


def cooled(kind, depression_k):
    """Cooling alone: a quarter of an hour down, 7.5 min of dwell, four minutes up (practice)."""
    crystals = Crystals(depression_k=depression_k)
    low_c, work_c = kind.cool.default_mc / 1e3, kind.work.default_mc / 1e3
    lead(crystals, kind.melt.default_mc / 1e3, low_c, 15.0)
    lead(crystals, low_c, low_c, 7.5)
    lead(crystals, low_c, work_c, 4.0)
    return crystals


def seeded(kind, depression_k):
    """6 % chopped at the seeding temperature, half of it melting; 6 min, then to work."""
    crystals = Crystals(0.06 * 0.5 * 0.76, depression_k=depression_k)
    seed_c, work_c = kind.seed_at_mc / 1e3, kind.work.default_mc / 1e3
    lead(crystals, seed_c, seed_c, 6.0)
    lead(crystals, seed_c, work_c, 4.0)
    return crystals


def kept(kind, depression_k):
    """In temper with 2 % set, ten minutes at work."""
    crystals = Crystals(0.02, depression_k=depression_k)
    work_c = kind.work.default_mc / 1e3
    lead(crystals, work_c, work_c, 10.0)
    return crystals


@pytest.mark.parametrize("name", ["DARK", "MILK", "WHITE"])
@pytest.mark.parametrize("template", [cooled, seeded, kept])
def test_every_template_with_the_defaults_is_in_temper_by_the_default_bands(name, template):
    """The consistency of model, templates and bands: a sample of each looks in temper."""
    kind = getattr(kinds, name)
    crystals = template(kind, melting_depression(kind.milk_fat_share))
    found = sample(0.0, crystals=crystals, noise_c=0.02, fat=kind.fat_share).features
    assert Bands(template.__name__).place(found.set_ratio) == "in", (crystals.v, found.set_ratio)
