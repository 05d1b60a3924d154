"""Bars against the kept one: sessions, looks, and what difference can be told."""

import math

import pytest

from snapgloss.quality.kept_bar import SESSION_MS, Entry, Repeats, repeats_of, seen_at_looks

DAY_MS = 24 * 3600 * 1000
MINUTE_MS = 60_000
SURE = Repeats(0.05, 0)


def at(run_id: int, day: float, share: float, kept: bool = False) -> Entry:
    """An entry of a share, so many days after the batch, which ended at 0."""
    return Entry(run_id, round(day * DAY_MS), kept, math.log(share))


def test_bars_are_shares_of_the_kept_one_of_their_session() -> None:
    """0.6 beside 0.8 is three quarters; a kept bar of another hour is no measure."""
    entries = [at(1, 1.0, 0.9, True), at(2, 1.5, 0.6), at(1, 1.5, 0.8, True)]
    (seen,) = seen_at_looks(entries, 2, 0, False, SURE)
    assert (seen.look, seen.number) == ("first", 1)
    assert math.exp(seen.over or 0) == pytest.approx(0.75)
    assert seen.least == pytest.approx(1.96 * 0.05 * math.sqrt(2))
    (alone,) = seen_at_looks(entries[:2], 2, 0, False, SURE)
    assert alone.over is None


def test_each_look_has_its_last_session_and_the_mean_of_it() -> None:
    """A later session of the same look corrects the earlier one; looks are those of grades."""
    entries = [at(2, 1, 0.5), at(2, 2, 0.7), at(2, 2.01, 0.9), at(2, 8, 0.6), at(2, 30, 0.3)]
    seen = seen_at_looks(entries, 2, 0, False, SURE)
    assert [(one.look, one.number) for one in seen] == [("first", 2), ("week", 1), ("month", 1)]
    assert math.exp(seen[0].value) == pytest.approx(math.sqrt(0.7 * 0.9))


def test_the_kept_bar_is_compared_with_its_own_first_look() -> None:
    """After a week and a month; at first there is nothing to compare with."""
    entries = [at(1, 1, 0.8, True), at(1, 8, 0.72, True), at(1, 30, 0.6, True)]
    seen = seen_at_looks(entries, 1, 0, True, SURE)
    assert seen[0].over is None
    assert [round(math.exp(one.over or 0), 3) for one in seen[1:]] == [0.9, 0.75]


@pytest.mark.parametrize(("gap_ms", "number"), [(SESSION_MS, 2), (SESSION_MS + 1, 1)])
def test_a_session_ends_after_two_hours_of_nothing(gap_ms: int, number: int) -> None:
    """One millisecond more is another session."""
    entries = [Entry(1, 0, False, 0.0), Entry(1, gap_ms, False, 0.2)]
    (seen,) = seen_at_looks(entries, 1, 0, False, SURE)
    assert seen.number == number


def test_own_repeats_take_the_place_of_the_simulated_from_four_on() -> None:
    """Pooled within sessions: what differs between sessions is no fault of the camera."""
    near = [0.0, 0.1, 0.2]
    first = [Entry(1, n * MINUTE_MS, False, value) for n, value in enumerate(near)]
    second = [Entry(1, DAY_MS + n * MINUTE_MS, False, 5 + v) for n, v in enumerate(near)]
    assert repeats_of(first, 0.05) == Repeats(0.05, 0)
    found = repeats_of(first + second, 0.05)
    assert found.freedom == 4
    assert found.spread == pytest.approx(0.1)
