"""Charts against a published example and other programs; honest about small numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from snapgloss.base.errors import InputError
from snapgloss.quality import charts
from snapgloss.quality.charts import Signal, change, individuals, plain_counts

# Ten flow readings of NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, with its mean,
# mean moving range and limits; from memory.
NIST = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_constants_by_integrating_the_normal_distribution():
    """d2 is the mean of the range of two normal values, D4 = 1 + 3 d3 / d2."""

    # The range of two is |Z| sqrt(2): density 2 phi(x / sqrt 2) / sqrt 2 for x > 0.
    def density(x):
        return 2 * stats.norm.pdf(x / math.sqrt(2)) / math.sqrt(2)

    d2 = integrate.quad(lambda x: x * density(x), 0, 40)[0]
    d3 = math.sqrt(integrate.quad(lambda x: x * x * density(x), 0, 40)[0] - d2 * d2)
    assert d2 == pytest.approx(charts.D2, abs=5e-4)
    assert 1 + 3 * d3 / d2 == pytest.approx(charts.D4, abs=5e-4)
    assert round(charts.LIMIT, 2) == 2.66


def test_the_worked_example_of_the_handbook():
    """Mean, mean moving range and limits as published; nothing strays."""
    chart = individuals(NIST)
    assert chart.mean == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert (chart.low, chart.high) == pytest.approx((45.8159, 55.8041), abs=2e-3)
    assert chart.range_high == pytest.approx(3.267 * 1.8778, abs=2e-4)
    assert chart.signals == ()
    assert chart.words == "Nothing strays. 10 batches: limits are provisional."


def test_each_rule_marks_what_it_is_for():
    """A value outside, the eighth and ninth on one side, and a jump between two batches."""
    steady = [1.0, -1.0] * 6
    out = individuals([*steady, 9.0])
    assert Signal(12, "outside") in out.signals and Signal(12, "jump") in out.signals
    row = individuals([*steady, *[0.6, 0.7] * 4, 0.6])
    assert [s.at for s in row.signals if s.rule == "row"] == [19, 20]
    assert out.words == "1 of 13 batches stray. 13 batches: limits are provisional."


def test_few_batches_have_no_limits_and_none_is_refused():
    """One value, seven values: a mean and no limits; none at all is a sentence."""
    one = individuals([31.2])
    assert (one.mean, one.mean_range, one.low, one.signals) == (31.2, None, None, ())
    seven = individuals(NIST[:7])
    assert (seven.low, seven.high, seven.range_high) == (None, None, None)
    assert seven.words == "7 batches are too few for limits; 8 are needed."
    with pytest.raises(InputError, match="no batch"):
        individuals([])
    with pytest.raises(InputError, match="no number"):
        individuals([1.0, math.nan])


@given(st.floats(-1e3, 1e3), st.integers(8, 30))
def test_batches_all_alike_never_stray(value, count):
    """Rounding makes no signal."""
    assert individuals([value] * count).signals == ()


@given(st.lists(st.floats(0, 100), min_size=8, max_size=40), st.floats(-50, 50), st.floats(1, 9))
def test_a_chart_moves_with_its_unit(values, shift, factor):
    """Limits are those of the values in any unit."""
    plain, moved = individuals(values), individuals([v * factor + shift for v in values])
    assert moved.low == pytest.approx(plain.low * factor + shift, abs=1e-6)
    assert moved.high == pytest.approx(plain.high * factor + shift, abs=1e-6)


@pytest.mark.parametrize(
    ("before", "after"),
    [([31.0, 31.1, 31.3, 31.2], [31.6, 31.5, 31.9, 31.7]), (NIST[:5], NIST[5:]),
     ([1.0, 2.0, 3.0], [2.0, 2.5])],
)  # fmt: skip
def test_a_change_agrees_with_another_program(before, after):
    """Every deal is tried: the share of larger differences is that of scipy's permutation test."""
    theirs = stats.permutation_test(
        (before, after), lambda x, y: abs(x.mean() - y.mean()), n_resamples=10**6,
        alternative="greater", vectorized=False,
    )  # fmt: skip
    assert change(before, after).chance == pytest.approx(theirs.pvalue, abs=1e-9)


def test_what_may_be_said_of_a_change():
    """Too few, more than chance, no more than chance; many batches are drawn, not all dealt."""
    assert "too few" in change([1.0, 1.1, 1.2], [5.0, 5.1, 5.2]).words
    assert change([1, 1.1, 1.2, 1.3], [5, 5.1, 5.2, 5.3]).words == (
        "The difference is more than chance: 3 in 100 deals are as large."
    )
    assert "no more than chance" in change([1, 3, 2, 4], [2, 3, 1, 4.5]).words
    many = change([float(n % 7) for n in range(40)], [float(n % 7) + 3 for n in range(40)])
    assert many.chance < 0.001
    with pytest.raises(InputError, match="one side"):
        change([], [1.0])


def test_plain_counts_and_what_they_may_mean():
    """4 of 5 good at 28.0; the interval is that of scipy's binomial test by Wilson."""
    counts = plain_counts([28.1, 27.9, 28.0, 28.2, 27.8, 29.0], [True] * 4 + [False, True], 0.5)
    assert [(c.at, c.good, c.of) for c in counts] == [(28.0, 4, 5), (29.0, 1, 1)]
    for count in counts:
        theirs = stats.binomtest(count.good, count.of).proportion_ci(method="wilson")
        assert (count.low, count.high) == pytest.approx(
            (100 * theirs.low, 100 * theirs.high), abs=1e-3
        )
