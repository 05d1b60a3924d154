"""Readings as spans of time. Each reading stands for the time until the next one."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from snapgloss.base.records import FLAG_LOGGED, Reading

GAP_OVER_MS = 3000
"""The rig sends one reading a second: more than this between two is a gap, not a slow reading."""


LOGGED_TIMES = 3
"""Of a logger's file: more than so many of its usual distances between two readings is a gap."""


class Span(NamedTuple):
    """A reading and the milliseconds it stands for; a gap when the next came too late."""

    reading: Reading
    span_ms: int
    gap: bool


def gap_over_ms(readings: Sequence[Reading]) -> int:
    """More than this between two readings is a gap: 3 s, or 3 usual distances of a logger's."""
    if len(readings) < 2 or not readings[0].flags & FLAG_LOGGED:
        return GAP_OVER_MS
    return logged_gap_over_ms([reading.at_ms for reading in readings])


def logged_gap_over_ms(at_ms: Sequence[int]) -> int:
    """The same of a logger's moments alone."""
    return gap_at_pace_ms([b - a for a, b in pairwise(at_ms)])


def gap_at_pace_ms(steps_ms: Sequence[int]) -> int:
    """The same of the distances between a logger's moments. Rows of one moment, as of a row
    that stands twice, say nothing of how often it wrote."""
    steps_ms = [step_ms for step_ms in steps_ms if step_ms]
    return max(GAP_OVER_MS, round(LOGGED_TIMES * median(steps_ms))) if steps_ms else GAP_OVER_MS


def spans(readings: Sequence[Reading]) -> Iterator[Span]:
    """The spans between readings in order; the last reading, with none after it, has no span."""
    over_ms = gap_over_ms(readings)
    for reading, following in pairwise(readings):
        span_ms = following.at_ms - reading.at_ms
        yield Span(reading, span_ms, span_ms > over_ms)


def start_ms(readings: Sequence[Reading]) -> int:
    """When the run began: the first reading inside a step, else the first reading; 0 if none."""
    for reading in readings:
        if reading.step_no > 0:
            return reading.at_ms
    return readings[0].at_ms if readings else 0
