"""Rates, pouring and energy of a run; see quality.figures.RunFigures for what each means."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from rigwire.tables import ADDITIONS
from snapgloss.base.records import Event
from snapgloss.quality.columns import Columns

POUR = ADDITIONS.index("pour")
LEAST_S = 60
"""A rate of less than a minute is the noise of the probe."""


def more_figures(
    run: Columns, events: Sequence[Event], window_mc: tuple[int, int], heater_w: int | None
) -> dict[str, Any]:
    """The figures of this module by name."""
    gaps_ms = run.span_ms[run.gap & (run.step_no > 0)]
    full_heat_ms = int((run.span_ms * run.heat_permille)[~run.gap].sum()) / 1000
    return {
        "melt_c_per_min": _rate_c_per_min(run, "melting"),
        "fall_c_per_min": _rate_c_per_min(run, "cooling"),
        "rewarm_c_per_min": _rate_c_per_min(run, "rewarming"),
        **_pouring(run, events, window_mc),
        "gap_count": len(gaps_ms),
        "minutes_lost": int(gaps_ms.sum()) / 60_000,
        "full_heat_min": full_heat_ms / 60_000,
        "room_c": _room_c(run),
        "energy_wh": None if heater_w is None else full_heat_ms / 3_600_000 * heater_w,
    }


def _rate_c_per_min(run: Columns, state: str) -> float | None:
    """From the first to the last reading of the chocolate in the first step of that state."""
    there = run.in_state(state)
    if not there.any():
        return None
    first_step = there & (run.step_no == run.step_no[there.argmax()]) & ~np.isnan(run.product_mc)
    at_ms, product_mc = run.at_ms[first_step], run.product_mc[first_step]
    if not len(at_ms) or at_ms[-1] - at_ms[0] < LEAST_S * 1000:
        return None
    return float(product_mc[-1] - product_mc[0]) / 1000 / (int(at_ms[-1] - at_ms[0]) / 60_000)


def _pouring(
    run: Columns, events: Sequence[Event], window_mc: tuple[int, int]
) -> dict[str, float | None]:
    pour_ms = [e.at_ms for e in events if e.kind == "added" and e.a == POUR]
    if not pour_ms:
        return {"pour_minutes": None, "pour_in_window_share": None}
    poured = run.in_state("working") & ~run.gap & (run.at_ms >= pour_ms[0])
    inside = poured & (run.product_mc >= window_mc[0]) & (run.product_mc <= window_mc[1])
    known_ms = run.total_ms(poured)
    share = run.total_ms(inside) / known_ms if known_ms else None
    return {"pour_minutes": known_ms / 60_000, "pour_in_window_share": share}


def _room_c(run: Columns) -> float | None:
    """The mean over the steps, weighted by time."""
    seen = ~run.gap & (run.step_no > 0) & ~np.isnan(run.room_mc)
    known_ms = run.total_ms(seen)
    return float((run.span_ms * run.room_mc)[seen].sum()) / known_ms / 1000 if known_ms else None
