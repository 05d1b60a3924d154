"""What comes next, when, and how the curve will go on from where it is; estimates."""

from collections.abc import Sequence

from rigwire.schedule import Step
from snapgloss.base.between import value_at
from snapgloss.base.units import show_temperature
from snapgloss.runs.live.doubt import band, endings
from snapgloss.runs.live.moment import Ahead, Curve
from snapgloss.runs.moment import Progress
from snapgloss.schedules.spread import Spread

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
    version: int, spread: Spread = (),
) -> Ahead:  # fmt: skip
    """Return what is to come of a batch; without a forecast there is no curve.

    `spread` of the same steps gives the curve its doubt; without it there is none.
    """
    words = next_words(steps, forecast_s, now.step_no)
    curve: Curve = ()
    if course is not None and forecast_s and now.step_left_s is not None and words:
        times, values = _line(course, sum(forecast_s[: now.step_no]), now)
        bounds = [(value, value) for value in values]
        if spread:
            left_s = max(now.step_left_s, 0)
            ends = endings(forecast_s, spread, now.step_no, now.at_s, left_s)
            bounds = band((times, values), ends)
        rows = zip(times, values, bounds, strict=True)
        curve = tuple(
            (round(at), round(mc), round(low), round(high)) for at, mc, (low, high) in rows
        )
    return Ahead(words, now.step_left_s, curve, version)


def _line(course: Course, ends_s: int, now: Progress) -> tuple[list[float], list[float]]:
    """The forecast, moved to end this step when it will; from where the chocolate is now.

    What lies between forecast and chocolate now is taken back until the step ends.
    """
    left_s = max(now.step_left_s or 0, 1)
    from_s, last_s = ends_s - left_s, course[0][-1]
    shift_s = now.at_s - from_s
    off_mc = 0.0
    if now.product_mc is not None:
        off_mc = now.product_mc - 1000 * value_at(course, from_s)
    pace_s = max(1.0, (last_s - from_s) / CURVE_POINTS)
    times, values = [], []
    for number in range(CURVE_POINTS + 1):
        at_s = from_s + number * pace_s
        rest = max(0.0, (ends_s - at_s) / left_s)
        times.append(at_s + shift_s)
        values.append(1000 * value_at(course, at_s) + off_mc * rest)
    return times, values
