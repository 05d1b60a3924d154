"""Figures of short runs worked out by hand, in the comments beside them."""

import math

import pytest

from rigwire.tables import FLAG_HOLDING
from snapgloss.quality.figures import figures_of

from .build import WINDOW_MC, WORK_MC, Run


def _cooled() -> Run:
    return (
        Run()
        .stay("melting", 60, 48_000, plate_mc=60_000, heat=1000)
        .stay("cooling", 60, 29_000)
        .stay("cooling", 30, 27_250)
        .stay("rewarming", 60, 30_000, plate_mc=33_500, heat=200)
        .stay("rewarming", 30, 31_800, plate_mc=33_000)
        .stay("working", 121, 31_500, plate_mc=32_000)
    )


def test_a_cooled_run_by_hand():
    """Lowest, peak, overshoot and plate peak are those put in; the hot melt is in none."""
    figures = _cooled().figures()
    assert figures.lowest_c == 27.25
    assert figures.peak_rewarm_c == 31.8
    assert figures.overshoot_c == pytest.approx(0.3)  # 31.8 - 31.5
    assert figures.wall_peak_c == 33.5  # not the 60 of the melt
    assert figures.minutes_working == 2.0  # 121 readings, the last stands for nothing
    assert figures.minutes_in_window == 2.0
    assert figures.hold_rms_c == 0.0
    assert figures.switch_count == 3  # on -> off at cooling, on and off again in the rewarm
    assert figures.minutes_total == pytest.approx(360 / 60)  # 361 readings from 0 to 360 s


def test_an_overshoot_in_the_work_counts_too():
    """The peak on the rewarm reaches into the work: that is where a late overshoot shows."""
    figures = _cooled().stay("working", 5, 32_400).figures()
    assert figures.peak_rewarm_c == 32.4
    assert figures.overshoot_c == pytest.approx(0.9)
    assert figures.working_highest_c == 32.4


def test_never_above_the_target_is_no_overshoot():
    """An overshoot is never negative."""
    figures = Run().stay("rewarming", 5, 31_000).stay("working", 5, 31_200).figures()
    assert figures.overshoot_c == 0.0


def test_a_seeded_run_by_hand():
    """Without a rewarm the peak is after the seeding, and the overshoot counts from the work."""
    run = Run().stay("melting", 10, 48_000).stay("cooling", 50, 34_000)
    run.tell("added", 1, 120).stay("seeding", 60, 33_900).stay("seeding", 60, 33_000)
    run.stay("working", 60, 32_800)  # on its way down: the work has not begun
    run.stay("working", 59, 32_000).stay("working", 2, 31_600)
    figures = run.figures()
    assert figures.peak_rewarm_c == 32.8
    assert figures.overshoot_c == pytest.approx(0.5)  # 32.0 - 31.5
    assert (figures.seed_min, figures.seed_g) == (1.0, 120)
    assert figures.lowest_c == 32.0  # the first reading of the work
    assert figures.minutes_working == 1.0
    assert figures.minutes_over == 0.0


def test_time_in_under_and_over_is_weighted_by_spacing():
    """One reading of 2 s spacing weighs as two; both edges of the window are inside."""
    run = Run().stay("working", 60, 31_000).stay("working", 30, 30_999)
    run.stay("working", 20, 32_001).stay("working", 9, 32_000)
    run.stay("working", 1, 32_000).lose(1).stay("working", 1, 31_500)
    figures = run.figures()
    assert figures.minutes_under * 60 == pytest.approx(30)
    assert figures.minutes_over * 60 == pytest.approx(20)
    assert figures.minutes_in_window * 60 == pytest.approx(60 + 9 + 2)
    assert figures.minutes_working * 60 == pytest.approx(121)
    assert figures.longest_gap_s == 0  # two seconds are a late reading, not a gap


def test_a_missing_reading_is_never_inside():
    """A reading without the chocolate's temperature counts as work and as nothing else."""
    run = Run().stay("working", 30, 31_500).stay("working", 30, None).stay("working", 1, 31_500)
    figures = run.figures()
    assert figures.minutes_in_window * 60 == pytest.approx(30)
    assert figures.minutes_missing * 60 == pytest.approx(30)
    assert figures.minutes_working * 60 == pytest.approx(60)
    assert figures.hold_rms_c == 0.0


def test_gaps_are_counted_apart():
    """A gap is in no other figure: neither work nor window; the longest is told in seconds."""
    run = Run().stay("cooling", 10, 30_000).lose(3).stay("working", 60, 31_500)
    run.lose(100).stay("working", 61, 31_500)
    figures = run.figures()
    assert figures.minutes_unrecorded * 60 == pytest.approx(101)
    assert figures.minutes_working * 60 == pytest.approx(59 + 60)
    assert figures.minutes_in_window == figures.minutes_working
    assert figures.longest_gap_s == 101


def test_once_begun_the_work_counts_even_far_outside():
    """Chocolate that falls out of the window stays counted: it is under, not "not yet"."""
    figures = Run().stay("working", 10, 31_000).stay("working", 51, 29_000).figures()
    assert figures.minutes_under * 60 == pytest.approx(50)
    assert figures.working_lowest_c == 29.0


@pytest.mark.parametrize("by_flag", [True, False])
def test_the_rig_may_say_that_the_work_began(by_flag):
    """Held by the flag or told by the event, the work begins outside the window too."""
    run = Run().stay("working", 30, 30_500)
    if not by_flag:
        run.tell("reached", 5, 30_900)
    run.stay("working", 31, 30_900, flags=FLAG_HOLDING if by_flag else 0)
    figures = run.figures()
    assert figures.minutes_working * 60 == pytest.approx(30)
    assert figures.minutes_in_window == 0


def test_never_reached_is_no_work():
    """A work step whose chocolate never came near has no working minutes and no hold figure."""
    figures = Run().stay("working", 600, 29_000).figures()
    assert (figures.minutes_working, figures.hold_rms_c, figures.working_lowest_c) == (
        0,
        None,
        None,
    )


def test_hands_in_is_counted_apart():
    """While the bowl is lifted nothing counts as work, in the window or out of it."""
    run = Run().stay("working", 60, 31_500).stay("hands_in", 120, 29_000)
    figures = run.stay("working", 61, 31_500).figures()
    assert figures.minutes_hands_in * 60 == pytest.approx(120)
    assert figures.minutes_working * 60 == pytest.approx(120)
    assert figures.minutes_in_window == figures.minutes_working


def test_hold_rms_by_hand():
    """30 s at +0.2 and 10 s at -0.4: sqrt((30*0.04 + 10*0.16) / 40) = 0.2646."""
    run = Run().stay("working", 30, 31_700).stay("working", 11, 31_100)
    assert run.figures().hold_rms_c == pytest.approx(math.sqrt(2.8 / 40))


def test_hold_follows_the_target_the_rig_was_given():
    """Thick at the end, the maker raised the target by 0.3: the hold is judged by that."""
    run = Run().stay("working", 30, 31_800, target_mc=31_800)
    run.stay("working", 31, 31_500, target_mc=None)
    assert run.figures().hold_rms_c == pytest.approx(0.0)


def test_switches_over_a_gap_are_not_made_up():
    """Heat before a gap and none after is no switch that anybody saw."""
    run = Run().stay("melting", 5, 40_000, heat=500).lose(60).stay("melting", 5, 40_000)
    assert run.figures().switch_count == 0


def test_steps_by_hand():
    """Each step begins with its first reading; reached is the rig's word, else the flag."""
    run = Run().stay("ready", 5, 21_000).stay("melting", 60, 30_000).tell("reached", 1, 48_000)
    run.stay("melting", 40, 48_000).stay("cooling", 30, 30_000)
    run.stay("cooling", 10, 27_000, flags=FLAG_HOLDING)
    run.stay("hands_in", 5, 27_000, step_no=4).stay("rewarming", 20, 29_000)
    run.stay("finished", 5, 30_000)
    melt, cool, rewarm = run.figures().steps
    assert melt[:5] == (1, "melting", 0.0, 60.0, 100.0)  # from the first step, not from `ready`
    assert cool[:5] == (2, "cooling", 100.0, 130.0, 140.0)
    assert rewarm[:5] == (4, "rewarming", 140.0, None, 165.0)


def test_nothing_recorded_gives_empty_figures():
    """No readings: zeros and None, no error."""
    figures = Run().figures()
    assert (figures.minutes_working, figures.longest_gap_s, figures.switch_count) == (0, 0, 0)
    assert (figures.lowest_c, figures.peak_rewarm_c, figures.overshoot_c) == (None, None, None)
    assert figures.steps == ()


def test_the_flat_form_has_every_figure_and_step():
    """as_dict holds each figure under its name and each step's times as numbers."""
    flat = _cooled().figures().as_dict()
    assert flat["lowest_c"] == 27.25
    assert flat["step_2_began_s"] == 60.0
    assert flat["step_5_reached_s"] is None
    assert "steps" not in flat
    assert all(value is None or isinstance(value, int | float) for value in flat.values())


def test_rates_of_the_first_fall_and_rewarm():
    """Change a minute from first to last reading; none for a step shorter than a minute."""
    run = Run()
    for mc in range(48_000, 28_000, -50):  # 50 mC a second: 3 degC a minute
        run.stay("cooling", 1, mc)
    for mc in range(28_000, 31_000, 20):
        run.stay("rewarming", 1, mc)
    figures = run.figures()
    assert figures.fall_c_per_min == pytest.approx(-3.0)
    assert figures.rewarm_c_per_min == pytest.approx(1.2)
    short = Run().stay("cooling", 30, 40_000).figures()
    assert (short.fall_c_per_min, short.rewarm_c_per_min) == (None, None)


@pytest.mark.parametrize("addition_no", [-1, 4, 2**30 - 1])
def test_an_addition_that_only_a_newer_rig_knows_is_neither_seed_nor_pour(addition_no):
    """A number past the table, or none of it, leaves every figure as it is without."""
    run, plain = Run().tell("added", addition_no, 95), Run()
    assert (
        run.stay("working", 100, 31_500).figures() == plain.stay("working", 100, 31_500).figures()
    )


def test_pouring_counts_from_the_first_pour_and_a_missing_reading_is_not_inside():
    """100 s inside, 50 s over, 50 s without a reading, after 300 s before the pour."""
    run = Run().stay("working", 300, 31_500).tell("added", 3, 95).stay("working", 100, 31_500)
    run.stay("working", 50, 32_400).stay("working", 50, None).stay("working", 1, 31_500)
    figures = run.figures()
    assert figures.pour_minutes == pytest.approx(200 / 60)
    assert figures.pour_in_window_share == pytest.approx(0.5)
    none = Run().stay("working", 100, 31_500).figures()
    assert (none.pour_minutes, none.pour_in_window_share) == (None, None)


def test_heat_and_energy_leave_gaps_out():
    """100 s at half heat are 50 s of full heat; with 120 W that is 6 kJ; nothing over a gap."""
    run = Run().stay("melting", 100, 40_000, heat=500).lose(60).stay("melting", 2, 40_000)
    figures = figures_of(run.readings, run.events, *WINDOW_MC, WORK_MC, 120)
    assert figures.full_heat_min == pytest.approx(49.5 / 60)  # the last before the gap stands out
    assert figures.energy_wh == pytest.approx(49.5 * 120 / 3600)
    assert (figures.gap_count, figures.minutes_lost) == (1, pytest.approx(61 / 60))
    assert run.figures().energy_wh is None


def test_the_room_is_a_mean_over_time():
    """Two readings a minute apart are a gap and count for nothing; without a probe none."""
    run = Run().stay("melting", 3, 40_000)
    run.readings = [
        r._replace(room_mc=mc)
        for r, mc in zip(run.readings, (20_000, 22_000, 99_000), strict=True)
    ]
    assert run.figures().room_c == pytest.approx(21.0)  # the last reading stands for no time
    assert Run().stay("melting", 3, 40_000).figures().room_c is None


def test_each_step_under_inside_and_over_its_band():
    """A cooling from 34 to 28 within 27.5 and 28.5: 60 s over, 31 s inside, 20 s under; hands in
    the bowl, a missing reading and a gap are in none. The work is judged by the window."""
    run = (
        Run()
        .stay("melting", 30, 40_000, target_mc=45_000)
        .stay("melting", 60, 45_500, target_mc=45_000)
    )
    run.stay("cooling", 60, 28_501, target_mc=28_000).tell("reached", 2, 28_500)
    run.stay("cooling", 30, 28_500, target_mc=28_000).stay("cooling", 20, 27_499, target_mc=28_000)
    run.stay("hands_in", 40, 25_000, target_mc=28_000, step_no=2)
    run.stay("cooling", 5, None, target_mc=28_000).stay("cooling", 1, 28_000, target_mc=28_000)
    run.lose(100).stay("cooling", 1, 28_000, target_mc=28_000)
    run.stay("working", 60, 31_000).stay("working", 31, 30_999)
    flat = run.figures().as_dict()
    found = {name: [round(flat[f"step_{no}_{name}_min"] * 60, 6) for no in (1, 2, 5)]
             for name in ("under", "in", "over")}  # fmt: skip
    assert found == {"under": [30, 20, 30], "in": [60, 31, 60], "over": [0, 60, 0]}
    assert (flat["step_2_reach_min"], flat["step_1_reach_min"]) == (1.0, None)
    assert flat["melt_c_per_min"] == pytest.approx(5.5 / 89 * 60)


def test_a_step_without_a_target_has_no_band():
    """A log tells no target: nothing is made up, and the work still has its window."""
    run = Run().stay("cooling", 60, 28_000, target_mc=None)
    flat = run.stay("working", 61, 31_500, target_mc=None).figures().as_dict()
    assert [flat[f"step_2_{name}_min"] for name in ("under", "in", "over")] == [None] * 3
    assert flat["step_5_in_min"] == 1.0
