"""The pour clock by hand, and what stays pourable for how long."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snapgloss.base.clock_times import minute_of_day, show_time
from snapgloss.base.errors import InputError
from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.chocolate.heat import melted_share
from snapgloss.chocolate.moulds import plan_moulds
from snapgloss.chocolate.setting import Cooling, bar_of, settle
from snapgloss.chocolate.thickening import PRACTICE_MIN, casson_pa, pourable_min
from snapgloss.chocolate.types import DARK, MILK, TYPES, WHITE
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.bowl import Bowl
from snapgloss.schedules.planning import Wish, plan, wish_of
from snapgloss.schedules.pouring import good_minutes, pour_clock, progress, told

MOULDS = plan_moulds(48, 60, 6)
PLAN = plan(Wish(DARK, MOULDS.batch_g), BENCH_RIG, 21.0)
SETTING = settle(bar_of(60, 7e-3, 120), Cooling(12.0, 15.0))
TEN = 600


def test_48_bars_at_ten():
    """Counted back by hand from 10:00 with the forecast's minutes; 9 moulds of 75 s."""
    clock = pour_clock(PLAN, MOULDS, TEN, SETTING)
    assert clock.at("pour") == TEN
    assert clock.at("seed") == pytest.approx(TEN - (PLAN.pour_at_min - PLAN.seed_at_min))
    early_min = 0.1 * PLAN.pour_at_min
    assert clock.at("plug in") == pytest.approx(TEN - PLAN.pour_at_min - early_min)
    assert clock.at("moulds out") == clock.at("refrigerator on") == TEN - 60
    assert clock.pour_min == 9 * 75 / 60
    assert clock.at("last mould") == TEN + 11.25
    assert clock.at("last out") == pytest.approx(TEN + 11.25 + SETTING.released_min)
    assert clock.warnings == []


def test_the_seed_is_said_to_come_on_top():
    """The bowl is loaded for all bars; kept chocolate has no seed to speak of."""
    moulds = plan_moulds(48, 60, 8)
    for start, words in (("solid", "of seed come on top"), ("in_temper", "stays in the bowl).")):
        made = plan(Wish(DARK, moulds.batch_g, start=start), BENCH_RIG, 21.0)
        clock = pour_clock(made, moulds, 600, SETTING)
        load = next(moment.words for moment in clock.moments if moment.key == "plug in")
        assert words in load


def test_the_clock_is_told_in_order():
    """Lines begin with times that only grow; the load and the seed are in grams."""
    lines = told(pour_clock(PLAN, MOULDS, TEN, SETTING))
    times = [line[:5] for line in lines]
    assert times == sorted(times)
    assert "Load 3.16 kg (51 bars of 60 g" in lines[0]
    assert any("Seed in: 190 g." in line for line in lines)


def test_slow_hands_are_warned():
    """9 moulds of 8 min are 72 min; practice keeps chocolate pourable for 30 to 60."""
    clock = pour_clock(PLAN, MOULDS, TEN, SETTING, mould_s=480)
    assert clock.in_time == int(clock.good_min / 8) < 9
    assert f"after {clock.in_time} moulds it is thick" in clock.warnings[0]


@pytest.mark.parametrize("wrong", [-1, 1440])
def test_times_that_cannot_be(wrong):
    """Not a minute of a day: a sentence."""
    with pytest.raises(InputError):
        pour_clock(PLAN, MOULDS, wrong, SETTING)


def test_moulds_that_do_not_go_with_the_bowl():
    """More moulds than chocolate; a pace of nothing."""
    with pytest.raises(InputError, match="The bowl has"):
        pour_clock(PLAN, plan_moulds(100, 60, 6), TEN, SETTING)
    with pytest.raises(InputError, match="0 s for a mould"):
        pour_clock(PLAN, MOULDS, TEN, SETTING, mould_s=0)


def test_dark_stays_pourable_as_practice_has_it():
    """30-60 min (common practice, no source); lighter types are thick sooner."""
    low, high = PRACTICE_MIN
    good = {key: good_minutes(plan(Wish(kind, 2000), BENCH_RIG, 21.0))
            for key, kind in TYPES.items()}  # fmt: skip
    assert low <= good["dark"] <= high
    assert good["dark"] > good["milk"] > good["white"] > 10
    assert MILK.work.default_mc > WHITE.work.default_mc


def test_an_own_depression_counts_as_milk_fat_does():
    """By the one rule: pour clock and melting take the maker's own 0.6 degC, as the caps do."""
    usual = ChocolateDescription(name="x", type="dark")
    own = usual.model_copy(update={"depression_mk": 600})
    plans = [plan(wish_of(one, 2000), BENCH_RIG, 21.0) for one in (usual, own)]
    for made, depression_k in zip(plans, (0.0, 0.6), strict=True):
        work_c = made.schedule.work_mc / 1000
        assert good_minutes(made) == pourable_min(work_c, depression_k)
        bowl = Bowl(BENCH_RIG, made.wish.chocolate, 2000, 21.0)
        melted = melted_share(30.0 + depression_k) - melted_share(25.0 + depression_k)
        assert bowl.melting_j(25.0, 30.0) == pytest.approx(melted * DARK.latent_heat * 2)
    assert pourable_min(30.9, 0.6) != pourable_min(30.9, 0.0)


def test_a_little_warmer_stays_pourable_longer():
    """Raising by 0.3 degC is the trade's remedy for thick chocolate (common practice)."""
    assert pourable_min(30.3) < pourable_min(30.6) * 0.9
    assert pourable_min(33.0) == 60.0  # never more is promised


@pytest.mark.parametrize("work_c", [20.0, 40.0, math.nan])
def test_no_chocolate_is_worked_there(work_c):
    """A sentence."""
    with pytest.raises(InputError):
        pourable_min(work_c)


@pytest.mark.parametrize(
    ("yield_pa", "plastic", "shear", "stress"), [(10, 2, 20, 90.0), (10, 2, 5, 40.0)]
)
def test_casson_at_the_points_worked_by_hand(yield_pa, plastic, shear, stress):
    """(sqrt 10 + sqrt 40)^2 = 90 and (sqrt 10 + sqrt 10)^2 = 40 Pa, exact."""
    assert casson_pa(shear, yield_pa, plastic) == pytest.approx(stress, abs=0.01)
    assert casson_pa([shear, 0.0], yield_pa, plastic) == pytest.approx([stress, yield_pa])


@pytest.mark.parametrize(
    ("done", "minutes", "left_min", "in_time"), [(5, 12.0, 9.6, True), (5, 30.0, 24.0, False)]
)
def test_progress_by_the_pace_seen(done, minutes, left_min, in_time):
    """By hand: 12 min for 5 of 9 moulds leave 9.6 min; 30 min leave 24, too long for 35."""
    found = progress(9, done, minutes, 35.0)
    assert (found.to_last_min, found.in_time) == (pytest.approx(left_min), in_time)
    assert ("will be thick" in found.words) is not in_time


def test_progress_before_the_first_mould_and_after_the_last():
    """The usual pace at first; nothing left at the end."""
    assert progress(9, 0, 0.0, 35.0).mould_s == 75
    assert progress(9, 9, 15.0, 35.0).words == "All moulds are filled."


@pytest.mark.parametrize(
    "wrong", [(9, 10, 5.0), (9, -1, 5.0), (0, 0, 5.0), (9, 1, -5.0), (9, 1, math.nan)]
)
def test_progress_that_cannot_be(wrong):
    """More done than there are, negative: a sentence."""
    with pytest.raises(InputError):
        progress(*wrong, 35.0)


@given(st.integers(1, 200), st.integers(0, 200), st.floats(0, 300), st.floats(0, 60))
def test_progress_adds_up(moulds, done, minutes, good_min):
    """Moulds left times pace is the time to the last; never below 0."""
    if done > moulds:
        return
    found = progress(moulds, done, minutes, good_min)
    assert found.left_moulds == moulds - done
    assert found.to_last_min == pytest.approx(found.left_moulds * found.mould_s / 60)
    assert found.good_left_min >= 0


@given(st.integers(0, 1439), st.integers(5, 1800))
@settings(deadline=None)
def test_any_time_and_pace_give_moments_in_order(at_min, mould_s):
    """Sorted, finite, the pour where it was asked for."""
    clock = pour_clock(PLAN, MOULDS, at_min, SETTING, mould_s)
    minutes = [moment.at_min for moment in clock.moments]
    assert minutes == sorted(minutes)
    assert clock.at("pour") == at_min
    assert clock.at("plug in") < clock.at("seed") < clock.at("pour") < clock.at("last out")


@pytest.mark.parametrize(
    ("text", "minute"), [("10:00", 600), ("9:30 am", 570), ("12:15 AM", 15), ("12:00 pm", 720),
                         ("23:59", 1439), (" 0:00 ", 0)]
)  # fmt: skip
def test_times_of_day_are_read(text, minute):
    """Both ways of writing."""
    assert minute_of_day(text) == minute
    assert minute_of_day(show_time(minute)) == minute


@pytest.mark.parametrize("text", ["", "10", "25:00", "10:60", "13:00 pm", "ten", "0:30 am", "1:0"])
def test_no_times_of_day(text):
    """A sentence that names the text."""
    with pytest.raises(InputError, match="is not a time of day"):
        minute_of_day(text)


def test_times_of_other_days_say_so():
    """By hand: ten minutes before midnight, and after it."""
    assert show_time(-10) == "23:50 the day before"
    assert show_time(1450) == "00:10 the day after"
    assert show_time(-1450) == "23:50, 2 days before"
