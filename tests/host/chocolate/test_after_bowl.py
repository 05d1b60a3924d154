"""Moulds, refrigerator and store: arithmetic by hand, common practice, and what cannot be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.chocolate.moulds import judge_mould, plan_moulds
from snapgloss.chocolate.refrigerator import trays_at_once
from snapgloss.chocolate.storage import judge_store, worst


def test_moulds_for_48_bars():
    """By hand: 48 / 0.95 = 51 poured, 7 moulds of 8, 3060 g, 3 % of the bowl stays: 95 g."""
    plan = plan_moulds(48, 60, 8)
    assert (plan.poured, plan.moulds, plan.spare_cavities) == (51, 7, 5)
    assert (plan.chocolate_g, plan.scraping_g, plan.batch_g) == (3060, 95, 3160)


def test_no_loss_at_all():
    """Zero shares give exactly what is wanted."""
    plan = plan_moulds(48, 60, 8, 0.0, 0.0)
    assert (plan.poured, plan.moulds, plan.batch_g) == (48, 6, 2880)


@given(st.integers(1, 10_000), st.integers(1, 1000), st.integers(1, 500),
       st.floats(0, 0.5), st.floats(0, 0.5))  # fmt: skip
def test_a_plan_is_enough_and_no_mould_too_many(pieces, piece_g, cavities, seconds, scraping):
    """Good bars after the seconds are at least those wanted; what is poured fits; the bowl holds
    pour and scraping."""
    plan = plan_moulds(pieces, piece_g, cavities, seconds, scraping)
    assert plan.poured * (1 - seconds) >= pieces - 1e-6
    assert (plan.moulds - 1) * cavities < plan.poured <= plan.moulds * cavities
    assert plan.batch_g * (1 - scraping) >= plan.chocolate_g * (1 - 1e-9)
    assert plan.spare_cavities == plan.moulds * cavities - plan.poured


@pytest.mark.parametrize(
    "wrong",
    [(0, 60, 8), (-1, 60, 8), (48, 0, 8), (48, 60, 0), (48, 60, 8, 0.6), (48, 60, 8, -0.1),
     (48, 60, 8, math.nan), (48, 60, 8, 0.05, 1.0), (48, 2000, 8)],
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused(wrong):
    """Zero mass, negative, over: a sentence."""
    with pytest.raises(InputError):
        plan_moulds(*wrong)


@pytest.mark.parametrize(
    ("mould_mc", "fits", "word"),
    [(24_000, True, "right"), (20_500, True, "better"), (19_000, False, "too cold"),
     (28_000, False, "too warm"), (33_000, False, "hotter than the chocolate")],
)  # fmt: skip
def test_mould_temperatures(mould_mc, fits, word):
    """20-27 degC, never hotter than the chocolate: published guidance and common practice."""
    found = judge_mould(mould_mc, 31_500)
    assert (found[0], word in found[1]) == (fits, True)


def test_a_mould_is_never_hotter_than_cool_chocolate():
    """Chocolate of 26.5 in a mould of 27: refused though 27 is in the usual band."""
    assert judge_mould(27_000, 26_500)[0] is False
    assert "80.6 °F" in judge_mould(27_000, 26_500, fahrenheit=True)[1]


def test_trays_by_the_balance_of_heat():
    """By hand: 100 W less 40 % is 60 W; 20 min of it are 72 kJ; a tray of 4 bars of 5 kJ takes 20:
    three trays, or one each 5 min 33 s."""
    load = trays_at_once(100.0, 5000.0, 4, 20.0)
    assert (load.at_once, load.tray_j, load.spare_w) == (3, 20_000.0, 60.0)
    assert load.each_min == pytest.approx(20_000 / 60 / 60)
    assert trays_at_once(20.0, 5000.0, 4, 20.0).at_once == 0


@pytest.mark.parametrize("wrong", [(0.0, 1.0, 1, 1.0), (math.nan, 1.0, 1, 1.0),
                                   (100.0, 0.0, 1, 1.0), (100.0, 1.0, 0, 1.0)])  # fmt: skip
def test_a_load_that_cannot_be_is_refused(wrong):
    """No power, no heat, no bars: a sentence."""
    with pytest.raises(InputError):
        trays_at_once(*wrong)


@pytest.mark.parametrize(
    ("low_c", "high_c", "level"),
    [(18.0, 20.0, "well"), (18.0, 19.5, "well"), (21.0, 21.9, "well"), (20.0, 22.0, "warn"),
     (22.0, 23.9, "warn"), (23.0, 24.0, "alarm"), (14.0, 20.0, "warn"), (12.0, 20.0, "alarm"),
     (20.0, 33.0, "alarm"), (19.0, 29.0, "alarm")],
)  # fmt: skip
def test_warmth_and_swings(low_c, high_c, level):
    """Warn at 22, alarm at 24 (a culinary textbook, 2011); 20/33 and 19/29 degC are cycles that
    were seen to bloom (Food Structure; JAOCS); steady 18-20 is good (Britannica)."""
    assert worst(judge_store(low_c, high_c)) == level


def test_damp_and_odours_matter_in_the_open_only():
    """Under 50 % is the usual limit (Britannica); a wrap keeps both out."""
    assert worst(judge_store(18, 19, 50.0)) == "well"
    assert worst(judge_store(18, 19, 60.0)) == "warn"
    assert worst(judge_store(18, 19, 80.0)) == "alarm"
    assert worst(judge_store(18, 19, odours=True)) == "warn"
    assert worst(judge_store(18, 19, 80.0, odours=True, wrapped=True)) == "well"


def test_the_freezer_is_for_what_is_wrapped():
    """Freezing itself need not bloom: wrap airtight, thaw sealed (a culinary textbook, 2011)."""
    assert worst(judge_store(-18, -17)) == "alarm"
    wrapped = judge_store(-18, -17, wrapped=True)
    assert worst(wrapped) == "well"
    assert any("Thaw it sealed" in finding.words for finding in wrapped)


@pytest.mark.parametrize("wrong", [(20, 18), (-50, 18), (18, 70), (math.nan, 18), (18, 19, 0.0),
                                   (18, 19, 101.0)])  # fmt: skip
def test_a_store_that_cannot_be_is_refused(wrong):
    """Warmest below coolest, no such humidity: a sentence."""
    with pytest.raises(InputError):
        judge_store(*wrong)


@given(st.floats(-40, 60), st.floats(-40, 60), st.floats(0.1, 100), st.booleans(), st.booleans())
def test_the_worst_comes_first(one_c, other_c, percent, odours, wrapped):
    """Sorted by level, and never empty."""
    rank = {"well": 0, "warn": 1, "alarm": 2}
    low_c, high_c = sorted((one_c, other_c))
    levels = [rank[f.level] for f in judge_store(low_c, high_c, percent, odours, wrapped)]
    assert levels == sorted(levels, reverse=True)
    assert levels
