"""Readings as spans of time. Each reading stands for the time until the next one."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from snapgloss.base.records import Reading

GAP_OVER_MS = 3000
"""The rig sends one reading a second: more than this between two is a gap, not a slow reading."""


class Span(NamedTuple):
    """A reading and the milliseconds it stands for; a gap when the next came too late."""

    reading: Reading
    span_ms: int
    gap: bool


def spans(readings: Sequence[Reading]) -> Iterator[Span]:
    """The spans between readings in order; the last reading, with none after it, has no span."""
    for reading, following in pairwise(readings):
        span_ms = following.at_ms - reading.at_ms
        yield Span(reading, span_ms, span_ms > GAP_OVER_MS)


def start_ms(readings: Sequence[Reading]) -> int:
    """When the run began: the first reading inside a step, else the first reading; 0 if none."""
    for reading in readings:
        if reading.step_no > 0:
            return reading.at_ms
    return readings[0].at_ms if readings else 0
