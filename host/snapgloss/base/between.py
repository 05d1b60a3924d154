"""Values between the points of a line."""

from bisect import bisect_left
from collections.abc import Sequence

Line = tuple[Sequence[float], Sequence[float]]
"""Places that do not fall, and the value at each; as many of both, at least one."""


def value_at(line: Line, place: float) -> float:
    """Return the value at a place: straight between two points, flat beyond the outer ones."""
    places, values = line
    at = bisect_left(places, place)
    if at == 0:
        return values[0]
    if at == len(places):
        return values[-1]
    before, after = places[at - 1], places[at]
    share = (place - before) / (after - before) if after > before else 1.0
    return values[at - 1] + share * (values[at] - values[at - 1])
