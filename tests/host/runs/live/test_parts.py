"""The parts of the live session that need no rig."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.host.synthetic import COOLED, SEEDED, synthetic

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.between import value_at
from snapgloss.base.errors import InputError
from snapgloss.quality.figures import figures_of
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.live.ahead import ahead_of, next_words
from snapgloss.runs.live.doubt import endings
from snapgloss.runs.live.feed import Feed, Point
from snapgloss.runs.live.kept import Kept, read_kept, write_kept
from snapgloss.runs.live.moment import Moment
from snapgloss.runs.live.pour_count import PourCount
from snapgloss.runs.live.staged import Staged, staged_again, staged_of
from snapgloss.runs.live.window_clock import WindowClock
from snapgloss.runs.progress import Progress
from snapgloss.runs.sources import Sources
from snapgloss.schedules.spread import spread_of
from snapgloss.schedules.travel import Leg


class HandClock:
    """A clock that stands until it is moved."""

    at_s = 50.0

    def now_s(self) -> float:
        return self.at_s


@pytest.fixture(scope="module")
def staged() -> Staged:
    """The sample batch, made ready."""
    return staged_of(demo_schedule(), BENCH_RIG, 21.0, moulds=16)


def progress(**changes: object) -> Progress:
    """A moment of a batch: cooling, step 3 of 6."""
    usual = Progress(
        simulated=True, state="cooling", at_s=3600, product_mc=45_000, target_mc=33_500,
        plate_mc=None, room_mc=None, step_no=3, steps=6, step_words="", step_left_s=600,
        batch_left_s=None, share_done=0.0, now="", waiting=False, withheld="",
    )  # fmt: skip
    return replace(usual, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("plan", [SEEDED, COOLED])
def test_time_in_the_window_is_that_of_the_figures(plan: tuple) -> None:
    """Counted as it goes on, it is what the figures say at the end."""
    run = synthetic(plan)
    clock = WindowClock(31_000, 32_000)
    for reading in run.readings:
        clock.take(reading)
    figures = figures_of(run.readings, run.events, 31_000, 32_000, 31_500)
    assert clock.inside_s == pytest.approx(60 * figures.minutes_in_window, abs=2)
    assert clock.working_s == pytest.approx(60 * figures.minutes_working, abs=2)
    assert clock.inside_s > 1000


def test_a_gap_is_not_time_in_the_window() -> None:
    """What nobody saw is not counted; a missing reading is not inside."""
    run = [r for r in synthetic().readings if r.state == "working" and r.flags & FLAG_HOLDING]
    first, second, third = run[:3]
    clock = WindowClock(0, 99_000)
    clock.take(first)
    clock.take(second._replace(product_mc=None))
    clock.take(third._replace(at_ms=second.at_ms + 1000))
    clock.take(third._replace(at_ms=second.at_ms + 60_000))
    assert (clock.inside_s, clock.working_s) == (1, 2)


def test_what_comes_next_is_said(staged: Staged) -> None:
    """The next step that takes time of its own, the end after the last, nothing outside."""
    steps, times = staged.plan.steps, staged.plan.forecast_s
    said = [next_words(steps, times, number) for number in range(8)]
    assert said == [
        "", "Rest at 48.0 °C", "Cool to 33.5 °C", "Seed in: 120 g", "Dip a knife, then pour",
        "Dip a knife, then pour", "All off", "",
    ]  # fmt: skip


def test_the_curve_goes_on_from_where_the_chocolate_is(staged: Staged) -> None:
    """It begins at the bowl's temperature now, comes to this step's target when the step is said
    to end, and ends when the batch does."""
    plan = staged.plan
    found = ahead_of(plan.steps, plan.forecast_s, staged.course, progress(), 3)
    (first_s, first_mc, *_), (last_s, last_mc, *_) = found.curve[0], found.curve[-1]
    assert (found.words, found.in_s, found.version) == ("Seed in: 120 g", 600, 3)
    assert (first_s, first_mc) == (3600, 45_000)
    assert last_s == pytest.approx(3600 + 600 + sum(plan.forecast_s[3:]), abs=5)
    assert last_mc == 31_500
    before_seed = [mc for at_s, mc, *_ in found.curve if at_s < 4200][-1]
    assert before_seed == pytest.approx(33_500, abs=700)


def test_the_forecast_has_its_doubt(staged: Staged) -> None:
    """None now, wide while the end of cooling is open, narrow again while it is held; without a
    spread the line is its own band."""
    plan = staged.plan
    given = (plan.steps, plan.forecast_s, staged.course, progress(step_left_s=900), 0)
    curve = ahead_of(*given, staged.spread).curve
    assert all(low <= mc <= high for _, mc, low, high in curve)
    assert curve[0][2:] == (45_000, 45_000)
    wide = max(high - low for _, _, low, high in curve)
    assert 1_000 < wide < 15_000
    held = [high - low for at_s, _, low, high in curve if at_s > 3600 + 900 + 1800]
    assert held and max(held) == 0
    assert all(low == mc == high for _, mc, low, high in ahead_of(*given).curve)


def test_what_is_left_of_a_step_is_what_is_in_doubt(staged: Staged) -> None:
    """Halfway through cooling its end is half as open, what follows adds as squares, and no end
    comes before now."""
    times = staged.plan.forecast_s
    early_s, late_s = staged.spread[2][0]
    assert late_s > early_s > 60
    whole, half, over = (
        endings(times, staged.spread, 3, 3600, left_s)
        for left_s in (times[2], times[2] / 2, 9 * times[2])
    )
    assert whole[0] == (3600 + times[2], early_s, late_s)
    assert half[0] == (3600 + times[2] / 2, early_s / 2, late_s / 2)
    assert over[0][1:] == (early_s, late_s)
    assert len(whole) == 4
    assert [end.late_s for end in whole] == [late_s] * 4  # what follows takes no time in doubt


def test_of_a_batch_as_a_whole_the_spread_is_that_of_the_bowls() -> None:
    """Steps of one bowl belong together: two that are late together are as late as their sum; a
    bowl that never comes there is left out."""
    early = [Leg("melt", np.array([10.0, 20.0, 30.0, np.inf]), 5.0, np.zeros(4), np.zeros(4))]
    legs = [*early, Leg("cool", np.array([1.0, 2.0, 3.0, 4.0]), 0.0, np.zeros(4), np.zeros(4))]
    found = spread_of(legs)
    assert found == (((540, 540), (594, 594)), ((54, 54),))
    never = Leg("cool", np.full(4, np.inf), 0.0, np.zeros(4), np.zeros(4))
    assert spread_of([*early, never]) == ()


def test_without_a_forecast_there_is_no_curve(staged: Staged) -> None:
    """Words alone, then; and none where no step runs."""
    plan = staged.plan
    assert ahead_of(plan.steps, (), staged.course, progress(), 0).curve == ()
    assert ahead_of(plan.steps, plan.forecast_s, None, progress(), 0).curve == ()
    nothing = ahead_of(plan.steps, plan.forecast_s, staged.course, progress(step_no=0), 0)
    assert (nothing.words, nothing.curve) == ("", ())


@given(st.floats(-1e6, 1e6))
def test_a_course_is_read_between_its_points(at_s: float) -> None:
    """Never outside its degrees, whatever the time; two points at one time are a step."""
    course = ((0.0, 10.0, 10.0, 20.0), (20.0, 30.0, 40.0, 35.0))
    assert 20.0 <= value_at(course, at_s) <= 40.0
    assert value_at(course, 5.0) == 25.0
    assert value_at(course, 15.0) == 37.5


def test_what_is_kept_comes_back(tmp_path: Path) -> None:
    """A damaged file is as good as none."""
    kept = Kept("0badf00d", "format = 1\n", "Quillby & Maar", 19.5, 7, 16, 3, 5000)
    kept.put(Sources(("L-1",), (4,), "Checked."))
    write_kept(tmp_path, kept)
    assert read_kept(tmp_path) == kept
    for damaged in ("", "[]", "{", '{"run": "x"}', "null", '{"run": null}'):
        (tmp_path / "live.json").write_text(damaged, encoding="utf-8")
        assert read_kept(tmp_path) == Kept()
    assert read_kept(tmp_path / "none") == Kept()
    write_kept(tmp_path / "none", kept)


def test_moulds_are_counted_and_kept(tmp_path: Path) -> None:
    """Never below none nor above all; a new start goes on with them; the sentences that count."""
    pour = PourCount(tmp_path, Kept(), 30.0)
    pour.begin(7, 2)
    pour.ready_at_s = 4900
    assert pour.now(4900).good_left_s == 1800
    said = [pour.add(5000 + n, by) for n, by in enumerate((-1, 1, 1, 1, -1, 1))]
    assert said == ["", "Pouring began.", "All 2 moulds are filled.", "", "",
                    "All 2 moulds are filled."]  # fmt: skip
    assert pour.now(5000).good_left_s == 1700, "a mould does not make it younger"
    assert pour.now(5000, 420).good_left_s == 420, "then the rig is off"
    again = PourCount(tmp_path, read_kept(tmp_path), 30.0)
    found = again.now(5001 + 600)
    assert (found.moulds, found.done, found.good_left_s) == (2, 2, 1200)
    assert found.words == "All moulds are filled."
    again.begin(8, 0)
    assert (again.kept.done, again.kept.moulds) == (0, 2)


def test_whether_the_last_mould_comes_in_time_is_said(tmp_path: Path) -> None:
    """At the pace so far; not before a minute has told one."""
    pour = PourCount(tmp_path, Kept(), 30.0)
    pour.begin(7, 16)
    pour.add(5000, 1)
    assert pour.now(5030).words == ""
    assert pour.now(5300).words.startswith(
        "15 moulds left, 75 min at this pace; good for about 25"
    )
    assert pour.now(9000).good_left_s == 0
    for bad in (-1, 501):
        with pytest.raises(InputError):
            pour.plan(bad)
    pour.plan(0)
    assert pour.now(5300).words == ""


def test_a_feed_gives_what_is_new_and_its_age() -> None:
    """Numbers of another epoch mean nothing; an age only grows until a reading comes."""
    clock = HandClock()
    feed = Feed(clock)
    assert feed.since("", 0).age_s == -1
    heard: list[int] = []
    stop = feed.listen(lambda: heard.append(1))
    points = [Point(float(n), n, n, n, n) for n in range(5)]
    feed.tell(Moment(state="off"), points[:3], is_heard=True)
    first = feed.since("", 0)
    assert (first.next, list(first.points), first.age_s) == (3, points[:3], 0)
    clock.at_s += 4
    feed.tell(Moment(state="off"), points[3:])
    more = feed.since(first.epoch, 3)
    assert (list(more.points), more.first, more.age_s) == (points[3:], 3, 4)
    feed.begin_anew()
    assert feed.since(first.epoch, 5).points == []
    assert feed.epoch != first.epoch
    stop()
    feed.tell(Moment())
    assert len(heard) == 2


def test_a_feed_does_not_grow_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of too many points every second one goes, under a new epoch."""
    monkeypatch.setattr("snapgloss.runs.live.feed.POINTS_MOST", 100)
    feed = Feed(HandClock())
    epoch = feed.epoch
    for n in range(1000):
        feed.tell(Moment(), [Point(float(n), n, n, n, n)])
    piece = feed.since("", 0)
    assert len(piece.points) <= 100
    assert piece.epoch != epoch
    assert [p.at_s for p in piece.points] == sorted({p.at_s for p in piece.points})


def test_what_was_kept_is_made_ready_again(staged: Staged) -> None:
    """The same digest; None for what cannot be read any more, or cannot be done in that room."""
    again = staged_again(staged.plan.schedule_toml, BENCH_RIG, 21.0, "Quillby & Maar")
    assert again is not None
    assert again.plan.digest == staged.plan.digest
    assert staged.good_min is not None and 30 <= staged.good_min <= 60
    assert staged_again("format = 1\n", BENCH_RIG, 21.0, "") is None
    assert staged_again(staged.plan.schedule_toml, BENCH_RIG, 34.0, "") is None
