"""Rates, pouring and energy of a run; see quality.figures.RunFigures for what each means."""

from collections.abc import Sequence
from typing import Any

from rigwire.tables import ADDITIONS
from snapgloss.base.records import Event, Reading
from snapgloss.quality.spans import Span

LEAST_S = 60
"""A rate of less than a minute is the noise of the probe."""


def more_figures(
    all_spans: Sequence[Span],
    readings: Sequence[Reading],
    events: Sequence[Event],
    window_mc: tuple[int, int],
    heater_w: int | None,
) -> dict[str, Any]:
    """The figures of this module by name."""
    gaps_ms = [span.span_ms for span in all_spans if span.gap and span.reading.step_no > 0]
    full_heat_ms = sum(
        span.span_ms * span.reading.heat_permille for span in all_spans if not span.gap
    ) / 1000  # fmt: skip
    return {
        "fall_c_per_min": _rate_c_per_min(readings, "cooling"),
        "rewarm_c_per_min": _rate_c_per_min(readings, "rewarming"),
        **_pouring(all_spans, events, window_mc),
        "gap_count": len(gaps_ms),
        "minutes_lost": sum(gaps_ms) / 60_000,
        "full_heat_min": full_heat_ms / 60_000,
        "room_c": _room_c(all_spans),
        "energy_wh": None if heater_w is None else full_heat_ms / 3_600_000 * heater_w,
    }


def _rate_c_per_min(readings: Sequence[Reading], state: str) -> float | None:
    """From the first to the last reading of the chocolate in the first step of that state."""
    step_no = next((r.step_no for r in readings if r.state == state), None)
    known = [
        r
        for r in readings
        if r.step_no == step_no and r.state == state and r.product_mc is not None
    ]
    if not known or known[-1].at_ms - known[0].at_ms < LEAST_S * 1000:
        return None
    change_mc = (known[-1].product_mc or 0) - (known[0].product_mc or 0)
    return change_mc / 1000 / ((known[-1].at_ms - known[0].at_ms) / 60_000)


def _pouring(
    all_spans: Sequence[Span], events: Sequence[Event], window_mc: tuple[int, int]
) -> dict[str, float | None]:
    pour_ms = [e.at_ms for e in events if e.kind == "added" and ADDITIONS[e.a] == "pour"]
    if not pour_ms:
        return {"pour_minutes": None, "pour_in_window_share": None}
    low_mc, high_mc = window_mc
    known_ms = inside_ms = 0
    for span in all_spans:
        if span.gap or span.reading.state != "working" or span.reading.at_ms < pour_ms[0]:
            continue
        known_ms += span.span_ms
        product_mc = span.reading.product_mc
        if product_mc is not None and low_mc <= product_mc <= high_mc:
            inside_ms += span.span_ms
    share = inside_ms / known_ms if known_ms else None
    return {"pour_minutes": known_ms / 60_000, "pour_in_window_share": share}


def _room_c(all_spans: Sequence[Span]) -> float | None:
    known = [
        (span.span_ms, span.reading.room_mc)
        for span in all_spans
        if not span.gap and span.reading.room_mc is not None and span.reading.step_no > 0
    ]
    whole_ms = sum(span_ms for span_ms, _ in known)
    if not whole_ms:
        return None
    return sum(span_ms * room_mc for span_ms, room_mc in known) / whole_ms / 1000
