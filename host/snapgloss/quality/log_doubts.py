"""What the times of a log leave in doubt: stamps of whole minutes, clocks that jumped."""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import groupby, pairwise
from statistics import linear_regression, median
from typing import NamedTuple

from snapgloss.quality.spans import logged_gap_over_ms
from snapgloss.quality.words import show_minutes

MINUTE_MS = 60_000
SHARED_LEAST = 0.1
"""Of the minutes, how many must hold several readings to be a logger's way; own choice."""
SLOPE_MS = 3 * MINUTE_MS
MOVED_LEAST_C, MOVED_SHARE = 0.5, 0.25
"""A pause in which the slope would have moved the chocolate by half a degree or more, and which
moved it by less than a quarter of that, was none; own choice."""

ALIKE_MC, ALIKE_LEAST_MS = 300, 2 * MINUTE_MS
"""Held chocolate moves less than this, and a shorter pause does no harm; own choice."""


class Known(NamedTuple):
    """A moment with a temperature."""

    at_ms: int
    product_mc: int


def spread(utc_ms: Sequence[int]) -> tuple[list[int], str]:
    """Readings under one whole minute spread evenly in it, and a sentence that says so.

    The first and the last minute may be cut: they are filled at the usual distance, the first
    from its end. Other times come back as they are, with no sentence.
    """
    minutes = [(ms, len(list(same))) for ms, same in groupby(utc_ms)]
    shared = sum(count > 1 for _, count in minutes)
    is_whole = all((b - a) % MINUTE_MS == 0 for (a, _), (b, _) in pairwise(minutes))
    if len(minutes) < 2 or not is_whole or shared < SHARED_LEAST * len(minutes):
        return list(utc_ms), ""
    usual = round(median(count for _, count in minutes))
    found: list[int] = []
    for number, (ms, count) in enumerate(minutes):
        is_cut = number in (0, len(minutes) - 1) and count < usual
        parts = usual if is_cut else count
        skipped = parts - count if number == 0 else 0
        found += [ms + (skipped + at) * MINUTE_MS // parts for at in range(count)]
    return found, (
        "Its times are whole minutes with several readings in each: they are spread evenly in "
        "their minute, and no time is surer than that."
    )


def known_of(at_ms: Sequence[int], product_mc: Sequence[int | None]) -> list[Known]:
    """The readings that have a temperature."""
    pairs = zip(at_ms, product_mc, strict=True)
    return [Known(ms, mc) for ms, mc in pairs if mc is not None]


def left_out_words(runs: Sequence[int]) -> str:
    """Say which runs are in no mean, no limit and no comparison, and why; nothing for none."""
    if not runs:
        return ""
    if len(runs) == 1:
        return f"Run {runs[0]} is left out: the clock of its log may have jumped."
    numbers = f"{', '.join(map(str, runs[:-1]))} and {runs[-1]}"
    return f"Runs {numbers} are left out: the clocks of their logs may have jumped."


class ClockDoubt(NamedTuple):
    """A sentence, and the moment before the first pause it speaks of; empty and None without."""

    words: str
    at_ms: int | None


def clock_doubt(
    at_ms: Sequence[int], product_mc: Sequence[int | None], is_clock_right: bool
) -> ClockDoubt:
    """Say where pauses join as if there had been none.

    Where the readings are merely alike on both sides they tell nothing: that is said, too, unless
    the person said that the clock is right. Rows without a temperature make no pause: their times
    are there.
    """
    over_ms, known = logged_gap_over_ms(at_ms), known_of(at_ms, product_mc)
    begins_ms = [a for a, b in pairwise(at_ms) if b - a > over_ms]
    pauses = [at for at, (before, after) in enumerate(pairwise(known))
              if bisect_left(begins_ms, before.at_ms) < bisect_left(begins_ms, after.at_ms)
              ]  # fmt: skip
    joined = [known[at].at_ms for at in pauses if _joins(known, at, over_ms)]
    if joined:
        return ClockDoubt(
            f"Its clock may have jumped {_where(joined)} after the start, for the readings before "
            "and after that pause join without a step: times, rates and minutes over it are not "
            "sure.", joined[0],
        )  # fmt: skip
    alike = [known[at].at_ms for at in pauses if _is_alike(known[at], known[at + 1])]
    if not alike or is_clock_right:
        return ClockDoubt("", None)
    return ClockDoubt(
        f"The readings on both sides of the pause {_where(alike)} after the start are alike: the "
        "logger was off, or its clock jumped (--gaps says that it did not).", alike[0],
    )  # fmt: skip


def _where(at_ms: Sequence[int]) -> str:
    return " and ".join(show_minutes(ms / MINUTE_MS) for ms in at_ms[:3])


def _is_alike(before: Known, after: Known) -> bool:
    is_long = after.at_ms - before.at_ms >= ALIKE_LEAST_MS
    return is_long and abs(after.product_mc - before.product_mc) <= ALIKE_MC


def _joins(known: Sequence[Known], at: int, over_ms: float) -> bool:
    """Whether the slopes on both sides of the pause after reading `at` go the same way, and yet
    the chocolate hardly moved in it."""
    before = _slope(known[at::-1], over_ms)
    after = _slope(known[at + 1 :], over_ms)
    if before * after <= 0:
        return False
    pause_ms = known[at + 1].at_ms - known[at].at_ms
    due_c = min(abs(before), abs(after)) * pause_ms / 1000
    moved_c = abs(known[at + 1].product_mc - known[at].product_mc) / 1000
    return due_c >= MOVED_LEAST_C and moved_c < MOVED_SHARE * due_c


def _slope(going_away: Sequence[Known], over_ms: float) -> float:
    """Milli-degC a ms over the readings next to a pause; 0 where there are too few."""
    near = [going_away[0]]
    for one in going_away[1:]:
        step_ms = abs(one.at_ms - near[-1].at_ms)
        is_far = abs(one.at_ms - near[0].at_ms) > SLOPE_MS and len(near) > 2
        if step_ms > over_ms or is_far:
            break
        near.append(one)
    if len(near) < 3 or near[0].at_ms == near[-1].at_ms:
        return 0.0
    return linear_regression([one.at_ms for one in near], [one.product_mc for one in near]).slope


def lowest_unsure(known: Sequence[Known], lowest_c: float | None, over_ms: float) -> str:
    """Say that a lowest point lies beside a pause, in which it may have been lower; else empty."""
    if lowest_c is None:
        return ""
    lowest_mc = round(lowest_c * 1000)
    for before, after in pairwise(known):
        is_pause = after.at_ms - before.at_ms > over_ms
        if is_pause and lowest_mc in (before.product_mc, after.product_mc):
            return (
                "Its lowest point is not sure: it lies beside a pause of "
                f"{show_minutes((after.at_ms - before.at_ms) / MINUTE_MS)}."
            )
    return ""
