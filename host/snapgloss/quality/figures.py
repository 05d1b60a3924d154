"""The figures of a run, from its readings and events alone. All are of temperatures and times;
none says anything about crystals."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from rigwire.tables import ADDITIONS, FLAG_HOLDING
from snapgloss.base.records import Event, Reading
from snapgloss.quality.columns import Columns, Mask, highest_c, lowest_c
from snapgloss.quality.run_rates import more_figures
from snapgloss.quality.steps import HANDS_IN, STEP_FIGURES, StepTimes, steps_of

SEED = ADDITIONS.index("seed")
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
    melt_c_per_min, fall_c_per_min, rewarm_c_per_min: change of the chocolate a minute, falling
        negative, from the first to the last reading of the first `melting`, `cooling` or
        `rewarming` step; None under a minute.
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
    melt_c_per_min: float | None
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
        """By name, flat, as the store keeps them; steps as step_3_began_s and so on, see
        quality.steps."""
        flat = {f.name: getattr(self, f.name) for f in fields(self) if f.name != "steps"}
        for step in self.steps:
            for name in STEP_FIGURES:
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
    run, window_mc = Columns(readings), (window_low_mc, window_high_mc)
    zero_ms = run.start_ms()
    begun_ms = _work_begun_ms(run, events, window_mc)
    since = _since(run, begun_ms)
    work, rewarm = since & run.in_state("working"), _rewarm(run)
    seed = next((e for e in events if e.kind == "added" and e.a == SEED), None)
    in_steps = run.at_ms[run.step_no > 0]
    peak_c = highest_c(run.product_mc[rewarm if rewarm.any() else _after_seeding(run)])
    top_c = peak_c if rewarm.any() else highest_c(run.product_mc[work])
    return RunFigures(
        lowest_c=lowest_c(run.product_mc[_cooled(run, begun_ms)]),
        peak_rewarm_c=peak_c,
        overshoot_c=None if top_c is None else max(0.0, round(top_c - work_mc / 1000, 6)),
        **_minutes(run, since, window_mc),
        working_lowest_c=lowest_c(run.product_mc[work]),
        working_highest_c=highest_c(run.product_mc[work]),
        longest_gap_s=int(run.span_ms[run.gap].max(initial=0)) / 1000,
        hold_rms_c=_hold_rms_c(run, work, work_mc),
        wall_peak_c=highest_c(run.plate_mc[rewarm | work]),
        switch_count=_switches(run),
        work_began_s=None if begun_ms is None else (begun_ms - zero_ms) / 1000,
        minutes_total=int(in_steps[-1] - zero_ms) / 60_000 if len(in_steps) else 0.0,
        seed_min=None if seed is None else (seed.at_ms - zero_ms) / 60_000,
        seed_g=None if seed is None else seed.b,
        **more_figures(run, events, window_mc, heater_w),
        steps=steps_of(run, events, window_mc),
    )


def _work_begun_ms(
    run: Columns, events: Sequence[Event], window_mc: tuple[int, int]
) -> int | None:
    """By the rig's own word, in flag or event; without it when the window was reached."""
    working = run.in_state("working")
    told = working & (run.flags & FLAG_HOLDING > 0)
    for event in events:
        if event.kind == "reached":
            told |= working & (run.step_no == event.a) & (run.at_ms >= event.at_ms)
    begun_ms = run.first_ms(told)
    return run.first_ms(working & _inside(run, window_mc)) if begun_ms is None else begun_ms


def _inside(run: Columns, window_mc: tuple[int, int]) -> Mask:
    return (run.product_mc >= window_mc[0]) & (run.product_mc <= window_mc[1])


def _since(run: Columns, from_ms: int | None) -> Mask:
    """All readings from a moment on; none where it never came."""
    never = np.iinfo(np.int64).max
    since: Mask = run.at_ms >= (never if from_ms is None else from_ms)
    return since


def _rewarm(run: Columns) -> Mask:
    since = _since(run, run.first_ms(run.in_state("rewarming")))
    return since & run.in_state("rewarming", "working")


def _after_seeding(run: Columns) -> Mask:
    seeding = run.in_state("seeding")
    if not seeding.any():
        return run.in_state("working")
    after: Mask = run.at_ms > run.at_ms[seeding][-1]
    return after & run.in_state(*_AFTER_MELT)


def _cooled(run: Columns, begun_ms: int | None) -> Mask:
    since = _since(run, run.first_ms(run.in_state("cooling")))
    down = since & run.in_state(*_AFTER_MELT)
    return down if begun_ms is None else down & (run.at_ms <= begun_ms)


def _minutes(run: Columns, since: Mask, window_mc: tuple[int, int]) -> dict[str, Any]:
    """The minutes_ figures of the readings since the work began."""
    working = since & run.in_state("working")
    seen = working & ~run.gap
    where = {
        "in_window": seen & _inside(run, window_mc),
        "under": seen & (run.product_mc < window_mc[0]),
        "over": seen & (run.product_mc > window_mc[1]),
        "missing": seen & np.isnan(run.product_mc),
        "unrecorded": working & run.gap,
        "hands_in": since & run.in_state(HANDS_IN),
    }
    minutes = {f"minutes_{name}": run.total_ms(mask) / 60_000 for name, mask in where.items()}
    return {"minutes_working": run.total_ms(seen) / 60_000, **minutes}


def _hold_rms_c(run: Columns, work: Mask, work_mc: int) -> float | None:
    held = work & ~run.gap & ~np.isnan(run.product_mc)
    total_ms = run.total_ms(held)
    target_mc = np.where(np.isnan(run.target_mc), work_mc, run.target_mc)
    off_c = (run.product_mc - target_mc)[held] / 1000
    return math.sqrt(float((run.span_ms[held] * off_c**2).sum()) / total_ms) if total_ms else None


def _switches(run: Columns) -> int:
    heated = run.heat_permille > 0
    return int((heated[1:] != heated[:-1])[~run.gap[:-1]].sum())
