"""What comes next, when, and how the curve will go on from where it is; estimates."""

from bisect import bisect_left
from collections.abc import Sequence

from rigwire.schedule import Step
from snapgloss.base.units import show_temperature
from snapgloss.runs.live.moment import Ahead
from snapgloss.runs.moment import Progress

CURVE_POINTS = 90

NEXT = {
    "rest": "Rest at {target}",
    "cool": "Cool to {target}",
    "seed": "Seed in: {grams} g",
    "rewarm": "Warm to {target}",
    "work": "Dip a knife, then pour",
}
ALL_OFF = "All off"

Course = tuple[tuple[float, ...], tuple[float, ...]]
"""Seconds from the start, and degC, along a schedule as forecast; both as long."""


def next_words(steps: Sequence[Step], forecast_s: Sequence[int], step_no: int) -> str:
    """Return what follows step `step_no` (from 1), such as "Seed in: 120 g".

    A step that takes no time of its own is passed over.
    """
    if not 1 <= step_no <= len(steps):
        return ""
    times = forecast_s or [1] * len(steps)
    rows = zip(steps[step_no:], times[step_no:], strict=True)
    after = next((step for step, spent_s in rows if spent_s), None)
    if after is None:
        return ALL_OFF
    target = show_temperature(after.target_mc)
    return NEXT.get(after.kind, "").format(target=target, grams=after.grams)


def ahead_of(
    steps: Sequence[Step], forecast_s: Sequence[int], course: Course | None, now: Progress,
    version: int,
) -> Ahead:  # fmt: skip
    """Return what is to come of a batch; without a forecast there is no curve."""
    words = next_words(steps, forecast_s, now.step_no)
    curve: tuple[tuple[int, int], ...] = ()
    if course is not None and forecast_s and now.step_left_s is not None and words:
        ends_s = sum(forecast_s[: now.step_no])
        curve = _curve(course, ends_s, now)
    return Ahead(words, now.step_left_s, curve, version)


def _curve(course: Course, ends_s: int, now: Progress) -> tuple[tuple[int, int], ...]:
    """The forecast, moved to end this step when it will; from where the chocolate is now.

    What lies between forecast and chocolate now is taken back until the step ends.
    """
    left_s = max(now.step_left_s or 0, 1)
    from_s, last_s = ends_s - left_s, course[0][-1]
    shift_s = now.at_s - from_s
    off_mc = 0.0
    if now.product_mc is not None:
        off_mc = now.product_mc - 1000 * degrees_at(course, from_s)
    pace_s = max(1.0, (last_s - from_s) / CURVE_POINTS)
    points = []
    for number in range(CURVE_POINTS + 1):
        at_s = from_s + number * pace_s
        rest = max(0.0, (ends_s - at_s) / left_s)
        value_mc = 1000 * degrees_at(course, at_s) + off_mc * rest
        points.append((round(at_s + shift_s), round(value_mc)))
    return tuple(points)


def degrees_at(course: Course, at_s: float) -> float:
    """Return degC of the course at a time, straight between its points, flat beyond them."""
    seconds, degrees = course
    place = bisect_left(seconds, at_s)
    if place == 0:
        return degrees[0]
    if place == len(seconds):
        return degrees[-1]
    before_s, after_s = seconds[place - 1], seconds[place]
    share = (at_s - before_s) / (after_s - before_s) if after_s > before_s else 1.0
    return degrees[place - 1] + share * (degrees[place] - degrees[place - 1])
