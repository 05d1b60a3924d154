"""Marks: which moments get one, and that no words stand over others."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.records import Event
from snapgloss.report.marks import CHAR_SHARE, MAX_MARKS, Mark, marks_of, rows_of


def test_the_moments_that_get_a_mark():
    """Seed, the first pour and a stop, in order; what came before the start does not."""
    events = [
        Event(0, 1_000, "added", 1, 50),
        Event(1, 70_000, "added", 1, 120),
        Event(2, 80_000, "press", 1500, 0),
        Event(3, 100_000, "added", 3, 95),
        Event(4, 110_000, "added", 3, 95),
        Event(5, 130_000, "stop", 5, 76_000),
    ]
    assert marks_of(events, zero_ms=10_000) == [
        Mark(1.0, "seed in 120 g", False),
        Mark(1.5, "pour", False),
        Mark(2.0, "stopped: the plate is too hot", True),
    ]


def test_a_stop_is_never_crowded_out():
    """With more moments than places the stop keeps its mark."""
    events = [Event(n, n * 1000, "added", 2, 300) for n in range(20)]
    events.append(Event(20, 20_000, "stop", 7, 0))
    marks = marks_of(events, 0)
    assert len(marks) == MAX_MARKS
    assert marks[-1].stop


@given(st.lists(st.tuples(st.floats(0, 100), st.integers(3, 45)), max_size=MAX_MARKS))
def test_no_words_stand_over_others_or_past_the_edge(given_marks):
    """For any marks: no two words share room in a row; words near the right edge go left."""
    marks = sorted(Mark(minute, "x" * length, False) for minute, length in given_marks)
    spans = []
    for mark, (row, left) in zip(marks, rows_of(marks, 100), strict=True):
        share, width = mark.minute / 100, (len(mark.words) + 2) * CHAR_SHARE
        spans.append((row, share - width if left else share, share if left else share + width))
        assert spans[-1][2] <= 1
    for n, (row, begin, end) in enumerate(spans):
        for other_row, other_begin, other_end in spans[n + 1 :]:
            assert row != other_row or end <= other_begin or other_end <= begin


def test_words_do_not_cross_a_stem():
    """A stop near the right edge stands above the pour before it, whose stem it would cross."""
    marks = [Mark(70, "pour", False), Mark(95, "stopped: the plate is too hot", True)]
    assert rows_of(marks, 100) == [(1, False), (0, True)]


@pytest.mark.parametrize("count", [0, 1])
def test_few_marks_stand_at_the_top(count):
    """None and one are no special case."""
    assert rows_of([Mark(5, "pour", False)] * count, 100) == [(0, False)] * count
