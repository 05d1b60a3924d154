"""The figures of a run, from its readings and events alone. All are of temperatures and times;
none says anything about crystals."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Any

from rigwire.tables import ADDITIONS, FLAG_HOLDING
from snapgloss.base.records import Event, Reading
from snapgloss.quality.run_rates import more_figures
from snapgloss.quality.spans import Span, spans, start_ms
from snapgloss.quality.steps import HANDS_IN, StepTimes, steps_of

_AFTER_MELT = ("cooling", "seeding", "rewarming", "working")


@dataclass(frozen=True, slots=True)
class RunFigures:
    """What a run did. Temperatures in degC, None where there is no reading to tell.

    A reading stands for the time until the next one; where that is over 3 s it is a gap, counted
    as unrecorded and in no other figure. The *work* begins with the first reading in `working`
    that holds the step's target or comes after the rig said it was reached; where the rig never
    said so, with the first that lies in the window. From then on all time in `working` counts,
    in the window or not.

    lowest_c: the lowest chocolate from the first `cooling` until the work begins.
    peak_rewarm_c: the highest chocolate from the first `rewarming` on, in `rewarming` and
        `working`. Without a rewarm, the highest after the last `seeding`; without either, the
        highest in `working`.
    overshoot_c: how far above the working target the chocolate came, at least 0: from the first
        `rewarming` on, or without a rewarm since the work began.
    minutes_working: recorded time of the work, the sum of the next four.
    minutes_in_window, minutes_under, minutes_over: of it, inside the window (both edges are
        inside), under and over it. minutes_missing: of it, without a reading of the chocolate;
        never counted as inside.
    minutes_unrecorded: time in gaps since the work began that would have been work.
    minutes_hands_in: time in `hands_in` since the work began; in no other figure.
    working_lowest_c, working_highest_c: the extremes of the chocolate in the work.
    longest_gap_s: the longest gap of the whole run, 0 when there is none.
    hold_rms_c: root of the time-weighted mean square of chocolate minus target in the work; the
        target is the reading's own, or the run's working target where it has none.
    wall_peak_c: the highest plate in `rewarming` and `working`.
    switch_count: how often the heater demand went from none to some or back, gaps left out.
    work_began_s: when the work began, seconds from the start of the first step.
    minutes_total: from the start of the first step to the last reading in any step.
    seed_min, seed_g: when the first seed was added, minutes from the start, and how much.
    fall_c_per_min, rewarm_c_per_min: change of the chocolate a minute, falling negative, from the
        first to the last reading of the first `cooling` or `rewarming` step; None under a minute.
    pour_minutes: recorded time in `working` from the first pour on. pour_in_window_share: the
        part of it with the chocolate inside the window; a missing reading is not inside. Both
        None when no pour was told.
    gap_count, minutes_lost: how many gaps there were inside steps, and how long together.
    full_heat_min: how long the heater would have been on at full heat. energy_wh: that times its
        power; None where the power was not recorded.
    room_c: the mean of the room over the steps, weighted by time; None without a room probe.
    steps: see snapgloss.quality.steps.
    """

    lowest_c: float | None
    peak_rewarm_c: float | None
    overshoot_c: float | None
    minutes_working: float
    minutes_in_window: float
    minutes_under: float
    minutes_over: float
    minutes_missing: float
    minutes_unrecorded: float
    minutes_hands_in: float
    working_lowest_c: float | None
    working_highest_c: float | None
    longest_gap_s: float
    hold_rms_c: float | None
    wall_peak_c: float | None
    switch_count: int
    work_began_s: float | None
    minutes_total: float
    seed_min: float | None
    seed_g: int | None
    fall_c_per_min: float | None
    rewarm_c_per_min: float | None
    pour_minutes: float | None
    pour_in_window_share: float | None
    gap_count: int
    minutes_lost: float
    full_heat_min: float
    energy_wh: float | None
    room_c: float | None
    steps: tuple[StepTimes, ...]

    def as_dict(self) -> dict[str, float | None]:
        """By name, flat, as the store keeps them; steps as step_3_began_s and so on."""
        flat = {f.name: getattr(self, f.name) for f in fields(self) if f.name != "steps"}
        for step in self.steps:
            for name in ("began_s", "reached_s", "ended_s"):
                flat[f"step_{step.step_no}_{name}"] = getattr(step, name)
        return flat


def figures_of(
    readings: Sequence[Reading],
    events: Sequence[Event],
    window_low_mc: int,
    window_high_mc: int,
    work_mc: int,
    heater_w: int | None = None,
) -> RunFigures:
    """The figures of one run; see RunFigures for what each means. Both sequences in order."""
    all_spans = list(spans(readings))
    zero_ms = start_ms(readings)
    begun_ms = _work_begun_ms(readings, events, window_low_mc, window_high_mc)
    work = _since(begun_ms, readings, "working")
    rewarm = _rewarm(readings)
    seed = next((e for e in events if e.kind == "added" and ADDITIONS[e.a] == "seed"), None)
    in_steps = [reading.at_ms for reading in readings if reading.step_no > 0]
    peak_c = _highest_c(r.product_mc for r in rewarm or _after_seeding(readings))
    top_c = peak_c if rewarm else _highest_c(r.product_mc for r in work)
    counted = [s for s in all_spans if begun_ms is not None and s.reading.at_ms >= begun_ms]
    return RunFigures(
        lowest_c=_lowest_c(_cooled(readings, begun_ms)),
        peak_rewarm_c=peak_c,
        overshoot_c=None if top_c is None else max(0.0, round(top_c - work_mc / 1000, 6)),
        **_minutes(counted, window_low_mc, window_high_mc),
        working_lowest_c=_lowest_c(r.product_mc for r in work),
        working_highest_c=_highest_c(r.product_mc for r in work),
        longest_gap_s=max((s.span_ms for s in all_spans if s.gap), default=0) / 1000,
        hold_rms_c=_hold_rms_c(counted, work_mc),
        wall_peak_c=_highest_c(r.plate_mc for r in [*rewarm, *work]),
        switch_count=_switches(all_spans, readings),
        work_began_s=None if begun_ms is None else (begun_ms - zero_ms) / 1000,
        minutes_total=(in_steps[-1] - zero_ms) / 60_000 if in_steps else 0.0,
        seed_min=None if seed is None else (seed.at_ms - zero_ms) / 60_000,
        seed_g=None if seed is None else seed.b,
        **more_figures(all_spans, readings, events, (window_low_mc, window_high_mc), heater_w),
        steps=steps_of(readings, events),
    )


def _work_begun_ms(
    readings: Sequence[Reading], events: Sequence[Event], low_mc: int, high_mc: int
) -> int | None:
    reached_ms = {e.a: e.at_ms for e in reversed(events) if e.kind == "reached"}
    entered_ms = None
    for reading in readings:
        if reading.state != "working":
            continue
        told = reading.at_ms >= reached_ms.get(reading.step_no, reading.at_ms + 1)
        if told or reading.flags & FLAG_HOLDING:
            return reading.at_ms
        inside = reading.product_mc is not None and low_mc <= reading.product_mc <= high_mc
        if inside and entered_ms is None:
            entered_ms = reading.at_ms
    return entered_ms


def _since(begun_ms: int | None, readings: Sequence[Reading], *states: str) -> list[Reading]:
    if begun_ms is None:
        return []
    return [r for r in readings if r.at_ms >= begun_ms and r.state in states]


def _rewarm(readings: Sequence[Reading]) -> list[Reading]:
    first_ms = next((r.at_ms for r in readings if r.state == "rewarming"), None)
    return _since(first_ms, readings, "rewarming", "working")


def _after_seeding(readings: Sequence[Reading]) -> list[Reading]:
    last_ms = next((r.at_ms for r in reversed(readings) if r.state == "seeding"), None)
    if last_ms is None:
        return [r for r in readings if r.state == "working"]
    return [r for r in readings if r.at_ms > last_ms and r.state in _AFTER_MELT]


def _cooled(readings: Sequence[Reading], begun_ms: int | None) -> list[int | None]:
    first_ms = next((r.at_ms for r in readings if r.state == "cooling"), None)
    down = _since(first_ms, readings, *_AFTER_MELT)
    return [r.product_mc for r in down if begun_ms is None or r.at_ms <= begun_ms]


def _highest_c(values_mc: Iterable[int | None]) -> float | None:
    highest = max((v for v in values_mc if v is not None), default=None)
    return None if highest is None else highest / 1000


def _lowest_c(values_mc: Iterable[int | None]) -> float | None:
    lowest = min((v for v in values_mc if v is not None), default=None)
    return None if lowest is None else lowest / 1000


def _minutes(work: Sequence[Span], low_mc: int, high_mc: int) -> dict[str, Any]:
    """The minutes_ figures of the spans since the work began."""
    names = ("in_window", "under", "over", "missing", "unrecorded", "hands_in")
    total_ms = dict.fromkeys(names, 0)
    for span in work:
        name = _where(span, low_mc, high_mc)
        if name is not None:
            total_ms[name] += span.span_ms
    working_ms = sum(total_ms[name] for name in names[:4])
    minutes = {f"minutes_{name}": ms / 60_000 for name, ms in total_ms.items()}
    return {"minutes_working": working_ms / 60_000, **minutes}


def _where(span: Span, low_mc: int, high_mc: int) -> str | None:
    """Which of the minutes_ figures a span belongs to; None for one outside the work."""
    reading = span.reading
    if reading.state == HANDS_IN:
        return "hands_in"
    if reading.state != "working":
        return None
    if span.gap:
        return "unrecorded"
    if reading.product_mc is None:
        return "missing"
    if reading.product_mc < low_mc:
        return "under"
    return "over" if reading.product_mc > high_mc else "in_window"


def _hold_rms_c(work: Sequence[Span], work_mc: int) -> float | None:
    total_ms, total = 0, 0.0
    for reading, span_ms, gap in work:
        if reading.state != "working" or gap or reading.product_mc is None:
            continue
        target_mc = work_mc if reading.target_mc is None else reading.target_mc
        total_ms += span_ms
        total += span_ms * ((reading.product_mc - target_mc) / 1000) ** 2
    return math.sqrt(total / total_ms) if total_ms else None


def _switches(all_spans: Sequence[Span], readings: Sequence[Reading]) -> int:
    heated = [reading.heat_permille > 0 for reading in readings]
    return sum(
        on != then and not span.gap
        for span, (on, then) in zip(all_spans, pairwise(heated), strict=True)
    )
