"""Looks, corrections, and where a bad bar points."""

from typing import NamedTuple

import pytest

from snapgloss.base.errors import InputError
from snapgloss.quality import grades
from snapgloss.quality.bar_counts import check_counts, count_words, net_weights, tolerable_g

DAY = grades.DAY_MS
END = 1_790_000_000_000


class Entry(NamedTuple):
    """A grade as stored."""

    graded_utc_ms: int
    verdict: str
    marks: tuple[str, ...] = ()


@pytest.mark.parametrize(
    ("days", "look"),
    [(-1, "first"), (0, "first"), (1, "first"), (4.99, "first"), (5, "week"), (7, "week"),
     (20.9, "week"), (21, "month"), (28, "month"), (400, "month")],
)  # fmt: skip
def test_a_grade_belongs_to_the_look_of_its_age(days, look):
    """The first look until day 5, a week until day 21; a clock set back is the first."""
    assert grades.look_at(END + int(days * DAY), END) == look


def test_the_last_entry_of_a_look_counts_and_the_others_are_told():
    """A correction the same day; another look stands beside it, even if it says otherwise."""
    entries = [
        Entry(END + DAY, "sell"),
        Entry(END + DAY + 5, "seconds", ("dull",)),
        Entry(END + 8 * DAY, "sell"),
    ]
    first, week = grades.standings(entries, END)
    assert (first.look, first.verdict, first.marks, first.corrected) == (
        "first", "seconds", ("dull",), 1,
    )  # fmt: skip
    assert first.words == "Seconds at first: dull (corrected)"
    assert (week.verdict, week.corrected, week.words) == ("sell", 0, "Sell after a week")
    assert grades.worst([first, week]) == "seconds"
    assert grades.worst([]) is None


@pytest.mark.parametrize(
    ("graded", "now_days", "due"),
    [
        ([], 0.2, None),
        ([], 0.5, "first"),
        ([(1, "sell")], 6.9, None),
        ([(1, "sell")], 7, "week"),
        ([(1, "sell"), (7, "sell")], 20, None),
        ([(1, "sell"), (7, "sell")], 28, "month"),
        ([(1, "sell")], 30, "month"),
        ([(1, "sell"), (25, "seconds")], 60, None),
        ([(1, "remelt")], 30, None),
    ],
)
def test_which_look_is_due(graded, now_days, due):
    """Half a day, a week, a month; never for bars that are melted again, never a look missed."""
    entries = [Entry(END + day * DAY, verdict) for day, verdict in graded]
    assert grades.look_due(entries, END, END + int(now_days * DAY)) == due


@pytest.mark.parametrize(
    ("first", "month", "smear", "points"),
    [
        ("sell", None, "good", ""),
        ("seconds", None, "good", "cooling"),
        ("seconds", None, "early", "cooling"),
        ("seconds", None, "streaks", "bowl"),
        ("remelt", None, "not set", "bowl"),
        ("remelt", None, "slow", "bowl"),
        ("sell", "seconds", "good", "store"),
        ("sell", "seconds", "streaks", "bowl"),
        ("seconds", None, None, "unknown"),
        ("seconds", None, "unsure", "unknown"),
        ("sell", None, "streaks", "knife"),
        ("sell", None, None, ""),
    ],
)
def test_where_a_bad_bar_points(first, month, smear, points):
    """A good smear clears the bowl, a bad one accuses it, none can do neither."""
    taken = [grades.Standing("first", first, (), 0)]
    if month:
        taken.append(grades.Standing("month", month, (), 0))
    assert grades.points_to(taken, smear) == points
    assert (grades.POINTS_WORDS[points] == "") == (points == "")


def test_words_that_are_no_grade_or_mark_are_refused():
    """Both spellings of re-melt are read; anything else gets a sentence."""
    assert grades.check_grade("Re-melt", ["dull", "film", "dull"]) == ("remelt", ("film", "dull"))
    with pytest.raises(InputError, match='"fine" is no grade'):
        grades.check_grade("fine", [])
    with pytest.raises(InputError, match='"shiny" is no mark'):
        grades.check_grade("sell", ["shiny"])


@pytest.mark.parametrize(
    ("label_g", "allowed_g"),
    # Directive 76/211/EEC, Annex I, 2.4; 9 % of 45.3 g is 4.077 g, rounded up to a tenth.
    [(4, None), (5, 0.5), (20, 1.8), (45.3, 4.1), (50, 4.5), (80, 4.5), (100, 4.5), (150, 6.8),
     (200, 9), (300, 9), (400, 12), (500, 15), (1000, 15), (2000, 30), (10_001, None)],
)  # fmt: skip
def test_tolerable_error_is_that_of_the_directive(label_g, allowed_g):
    """The table of the directive, at its edges and between."""
    assert tolerable_g(label_g) == pytest.approx(allowed_g)


def test_weights_are_compared_with_their_label():
    """Mean, extremes, and how many are short by more than once and twice the tolerable."""
    found = net_weights(50_000, [50_500, 49_500, 45_000, 40_900])
    assert (found.mean_g, found.least_g, found.most_g) == (46.475, 40.9, 50.5)
    assert (found.tolerable_g, found.short, found.far_short) == (4.5, 2, 1)
    assert found.words == (
        "4 weighed, label 50 g: mean 46.5 g, 40.9 to 50.5 g. On average under the label: fill "
        "more. 2 short by more than 4.5 g."
    )
    assert net_weights(50_000, [50_500]).words.endswith("50.5 to 50.5 g.")


def test_counts_that_cannot_be_are_refused():
    """More bars than were made, none at all, and a negative number."""
    assert count_words(check_counts({"made": 48, "sold": 40, "remelt": 2})) == (
        "48 made: 40 sold, 2 re-melt."
    )
    for counts, words in (
        ({"made": 10, "sold": 9, "seconds": 2}, "11 bars sold"),
        ({}, "No count"),
        ({"sold": -1}, "no number"),
    ):
        with pytest.raises(InputError, match=words):
            check_counts(counts)
