"""Mixtures and re-melts: balances worked by hand, common practice, and what must never be."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from snapgloss.base.errors import InputError
from snapgloss.chocolate.mixing import Portion, mass_to_reach, mix, top_up_trouble
from snapgloss.chocolate.remelt import Lot, plan_remelt

WARM = Portion(1000, 45.0)
COLD = Portion(250, 20.0, is_set=True)


def test_melted_chocolate_mixes_by_mass_and_heat():
    """By hand: 1 kg at 31.5 and 0.2 kg at 45 come to 33.75 and lose their temper; (45+31.5)/2."""
    assert mix([Portion(1000, 31.5), Portion(200, 45.0)]).at_c == pytest.approx(33.75, abs=1e-6)
    assert mix([Portion(500, 45.0), Portion(500, 31.5)]).at_c == pytest.approx(38.25, abs=1e-6)


def test_set_chocolate_takes_its_melting_heat():
    """By hand, all melting: (45 + 0.25*20 - 0.25*46/1.6) / 1.25 = 34.25; 2 % is still set."""
    found = mix([WARM, COLD])
    assert found.at_c == pytest.approx(34.25, abs=0.15)
    assert 0 < found.still_set_share < 0.05
    hot = mix([Portion(1000, 55.0), COLD])
    assert hot.at_c == pytest.approx((55 + 0.25 * 20 - 0.25 * 46 / 1.6) / 1.25, abs=1e-6)
    assert hot.still_set_share == 0.0


def test_seed_wanted_when_all_of_it_melts():
    """45 to 36 degC, where all is melted: c*9 / (c*16 + L), by hand; and back by `mix`."""
    grams = mass_to_reach(WARM, COLD, 36.0)
    assert grams / 1000 == pytest.approx(1600 * 9 / (1600 * 16 + 46e3), rel=1e-6)
    assert mix([WARM, replace(COLD, mass_g=grams)]).at_c == pytest.approx(36.0, abs=1e-6)


def test_a_bowl_takes_part():
    """By hand: 800 J/K at 20 under 1 kg at 45 are (1600*45 + 800*20) / 2400 = 36.67."""
    assert mix([WARM], 800.0, 20.0).at_c == pytest.approx(36.667, abs=0.001)


@given(
    st.lists(
        st.builds(
            Portion,
            st.floats(1, 20_000),
            st.floats(-30, 33),
            st.booleans(),
            st.floats(1200, 2300),
            st.floats(20e3, 100e3),
            st.floats(0, 2),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_mixing_keeps_mass_and_heat(portions):
    """What one gives the others take, to 1e-6 of it; the temperature lies among them; scipy's
    root finder agrees."""
    found = mix(portions)
    assert found.mass_g == pytest.approx(sum(p.mass_g for p in portions))
    low, high = min(p.at_c for p in portions), max(p.at_c for p in portions)
    assert low - 1e-9 <= found.at_c <= high + 1e-9
    moved = [p.heat_to_j(found.at_c) for p in portions]
    assert abs(sum(moved)) <= 1e-6 * sum(map(abs, moved)) + 1e-3
    if high - low > 0.1:
        root = brentq(lambda c: sum(p.heat_to_j(c) for p in portions), low, high, xtol=1e-9)
        assert found.at_c == pytest.approx(root, abs=1e-6)


@given(st.floats(100, 10_000), st.floats(30, 60), st.floats(-20, 30), st.floats(0, 1))
def test_the_mass_to_reach_a_target_reaches_it(mass_g, hot_c, cold_c, between):
    """`mix` of what `mass_to_reach` says gives the target."""
    target_c = cold_c + between * (hot_c - cold_c)
    assume(0.05 < between < 0.95 and hot_c - cold_c > 1)
    bowl, added = Portion(mass_g, hot_c), Portion(1, cold_c, is_set=True)
    try:
        grams = mass_to_reach(bowl, added, target_c)
    except InputError:
        return
    assert mix([bowl, replace(added, mass_g=grams)]).at_c == pytest.approx(target_c, abs=1e-4)


def test_topping_up_at_work():
    """5-10 % at about 40 degC (common practice, no source)."""
    assert top_up_trouble(2000, Portion(150, 40.0)) == ""
    assert "At most 200 g" in top_up_trouble(2000, Portion(400, 40.0))
    assert "kills the crystals" in top_up_trouble(2000, Portion(100, 45.0))
    assert top_up_trouble(2000, Portion(120, 20.0, is_set=True)) == ""  # that is seed


@pytest.mark.parametrize(
    "portions",
    [[], [Portion(0, 30)], [Portion(-5, 30)], [Portion(100, 90)], [Portion(math.nan, 30)],
     [Portion(100, math.nan)], [Portion(100, 40, is_set=True)]],
)  # fmt: skip
def test_a_mixture_that_cannot_be(portions):
    """Nothing, no mass, too hot, solid where nothing is solid: a sentence."""
    with pytest.raises(InputError):
        mix(portions)


@pytest.mark.parametrize("target_c", [50.0, 10.0, 45.0, math.nan])
def test_a_target_outside_cannot_be_reached(target_c):
    """Hotter than the hottest, colder than the coldest: a sentence."""
    with pytest.raises(InputError):
        mass_to_reach(WARM, COLD, target_c)


NEW = Lot("Lantern 72", "dark", 1500)
OLD = Lot("bars of May", "dark", 500, times=1, days=20)


def test_a_fresh_remelt():
    """A quarter of good bars: usual melt, ten minutes, nothing to warn of."""
    found = plan_remelt([NEW, OLD])
    assert (found.kind, found.mass_g, found.used_share) == ("dark", 2000, 0.25)
    assert (found.melt_mc, found.rest_s, found.warnings) == (48_000, 600, [])


@pytest.mark.parametrize(
    ("lot", "rest_s", "melt_mc"),
    [(replace(OLD, days=200), 900, 48_000), (replace(OLD, bloomed=True), 1200, 50_000)],
)
def test_old_and_bloomed_melt_out_longer(lot, rest_s, melt_mc):
    """10-20 min, the longer for old and bloomed (common practice, no source)."""
    found = plan_remelt([NEW, lot])
    assert (found.rest_s, found.melt_mc) == (rest_s, melt_mc)


def test_delicate_chocolate_is_never_melted_too_hot():
    """Bloomed white: 45, within its 48; milk 47 of 50."""
    for kind, most in (("white", 48_000), ("milk", 50_000)):
        lots = [Lot("new", kind, 1500), Lot("old", kind, 500, 1, bloomed=True)]
        assert plan_remelt(lots).melt_mc <= most


def test_inclusions_are_refused():
    """Never with nuts, nibs or salt."""
    with pytest.raises(InputError, match="has inclusions"):
        plan_remelt([NEW, replace(OLD, inclusions=True)])


@pytest.mark.parametrize(("old_g", "warned"), [(600, False), (800, True), (2000, True)])
def test_the_share_of_remelt_is_warned_of(old_g, warned):
    """Up to 30 % is usual (own choice); a batch that failed may be melted again as a whole."""
    lots = [replace(OLD, mass_g=old_g)]
    if old_g < 2000:
        lots.append(replace(NEW, mass_g=2000 - old_g))
    found = plan_remelt(lots)
    assert found.used_share == old_g / 2000
    assert any("was tempered before" in words for words in found.warnings) is warned


def test_the_fourth_melt_goes_into_filling():
    """Three times before is often enough (own choice)."""
    assert "fourth time" in plan_remelt([NEW, replace(OLD, times=3)]).warnings[0]


def test_milk_into_dark_warns_and_is_milk():
    """The mixture is judged as the more delicate, and contains milk whatever its label says."""
    found = plan_remelt([NEW, Lot("Ferry Milk 48", "milk", 500, 1)])
    assert (found.kind, found.allergens) == ("milk", ("milk",))
    assert "Milk goes into dark" in found.warnings[0]


def test_may_contain_stays_until_a_cleaning_was_verified():
    """What the bowl held goes by a verified cleaning; what a lot brought never does."""
    bowl = frozenset({"Milk"})
    assert plan_remelt([NEW], bowl).may_contain == ("milk",)
    assert plan_remelt([NEW], bowl, cleaning_verified=True).may_contain == ()
    traced = replace(OLD, may_contain=frozenset({"hazelnut"}))
    found = plan_remelt([NEW, traced], bowl, cleaning_verified=True)
    assert found.may_contain == ("hazelnut",)
    assert any("may contain hazelnut" in words for words in found.warnings)


NAMES = st.frozensets(st.sampled_from(["milk", "soya", "hazelnut", "gluten"]))


@given(
    st.lists(
        st.builds(Lot, st.just("lot"), st.sampled_from(["dark", "milk", "white"]),
                  st.floats(1, 5000), st.just(0), st.floats(0, 999), st.booleans(),
                  st.just(False), NAMES, NAMES),
        min_size=1, max_size=4,
    ),
    NAMES, st.booleans(),
)  # fmt: skip
def test_no_allergen_is_ever_lost(lots, bowl, verified):
    """Every allergen of every lot is in the mixture; every trace is there or is contained."""
    found = plan_remelt(lots, bowl, verified)
    for lot in lots:
        assert lot.allergens <= set(found.allergens)
        assert lot.may_contain <= set(found.may_contain) | set(found.allergens)
    if not verified:
        assert bowl <= set(found.may_contain) | set(found.allergens)
    if any(lot.kind != "dark" for lot in lots):
        assert "milk" in found.allergens


@pytest.mark.parametrize(
    "lots", [[], [replace(NEW, mass_g=0)], [replace(NEW, mass_g=math.nan)],
             [replace(NEW, days=-1)], [replace(NEW, kind="ruby")]]
)  # fmt: skip
def test_a_remelt_that_cannot_be(lots):
    """Nothing, no mass, no such type: a sentence."""
    with pytest.raises(InputError):
        plan_remelt(lots)
