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
    gaps_ms = [span_ms for reading, span_ms, gap in all_spans if gap and reading.step_no > 0]
    full_heat_ms, room_c = _heat_and_room(all_spans)
    return {
        "fall_c_per_min": _rate_c_per_min(readings, "cooling"),
        "rewarm_c_per_min": _rate_c_per_min(readings, "rewarming"),
        **_pouring(all_spans, events, window_mc),
        "gap_count": len(gaps_ms),
        "minutes_lost": sum(gaps_ms) / 60_000,
        "full_heat_min": full_heat_ms / 60_000,
        "room_c": room_c,
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
    for (_, at_ms, state, _, _, product_mc, *_), span_ms, gap in all_spans:
        if gap or state != "working" or at_ms < pour_ms[0]:
            continue
        known_ms += span_ms
        if product_mc is not None and low_mc <= product_mc <= high_mc:
            inside_ms += span_ms
    share = inside_ms / known_ms if known_ms else None
    return {"pour_minutes": known_ms / 60_000, "pour_in_window_share": share}


def _heat_and_room(all_spans: Sequence[Span]) -> tuple[float, float | None]:
    """Milliseconds at full heat, and the room in degC over the steps, in one walk."""
    heat = room = known_ms = 0
    for (_, _, _, step_no, _, _, _, room_mc, heat_permille, _, _, _), span_ms, gap in all_spans:
        if gap:
            continue
        heat += span_ms * heat_permille
        if room_mc is not None and step_no > 0:
            known_ms += span_ms
            room += span_ms * room_mc
    return heat / 1000, room / known_ms / 1000 if known_ms else None
