"""Where nine in ten batches are at each moment to come: a band round the forecast; an estimate."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from snapgloss.base.between import Line, value_at
from snapgloss.schedules.spread import Spread


class Ending(NamedTuple):
    """When a step to come is forecast to end, and how much earlier or later it may; seconds."""

    at_s: float
    early_s: float
    late_s: float


def endings(
    forecast_s: Sequence[int], spread: Spread, step_no: int, now_s: float, left_s: float
) -> list[Ending]:
    """Return the endings from step `step_no` (from 1) on, which has `left_s` to go at `now_s`.

    Of the step under way only the part that is left is in doubt; what comes after it does not
    know how that went, so the two add as squares.
    """
    here = step_no - 1
    share = min(1.0, left_s / forecast_s[here]) if forecast_s[here] else 0.0
    own = [share * one for one in spread[here][0]]
    found, at_s = [Ending(now_s + left_s, own[0], own[1])], now_s + left_s
    rest = spread[here + 1] if here + 1 < len(spread) else ()
    for spent_s, (early_s, late_s) in zip(forecast_s[step_no:], rest, strict=True):
        at_s += spent_s
        found.append(Ending(at_s, math.hypot(own[0], early_s), math.hypot(own[1], late_s)))
    return found


def band(line: Line, ends: Sequence[Ending]) -> list[tuple[float, float]]:
    """Return lowest and highest of the forecast `line` for each of its moments.

    A batch that is late is where the line was earlier, one that is early where it will be: the
    band holds all of the line between the two.
    """
    times, values = line
    now_s = times[0]
    usual = [now_s, *(end.at_s for end in ends)]
    slow = [now_s, *(end.at_s + end.late_s for end in ends)]
    quick = [now_s, *_rising(now_s, [end.at_s - end.early_s for end in ends])]
    found = []
    for at_s in times:
        from_s, to_s = value_at((slow, usual), at_s), value_at((quick, usual), at_s)
        between = [
            value for time, value in zip(times, values, strict=True) if from_s < time < to_s
        ]
        reach = (value_at(line, from_s), value_at(line, to_s), value_at(line, at_s), *between)
        found.append((min(reach), max(reach)))
    return found


def _rising(least: float, values: Sequence[float]) -> list[float]:
    """No ending comes before now, nor before the one before it."""
    found = []
    for value in values:
        least = max(least, value)
        found.append(least)
    return found
