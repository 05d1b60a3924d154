"""The figures of one lane's trace, and those of many lanes together.

Truth is the bulk of the chocolate against the target, where it has crept to by then, less the
probe's constant offset: what a perfect regulator that trusts its probe would reach.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rigwire.schedule import Step

TRAVELS = ("melt", "cool", "rewarm")
NEAR_C = 0.3
LOST_SHARE = 0.2
"""Seed is called lost when so little of its greatest number is left."""


class Lane(NamedTuple):
    """One lane's trace, one value a second, up to the end of its schedule. `bound_s` by kind.

    `is_seeded` from when seed went in; `risen_c` how far the target has crept.
    """

    steps: tuple[Step, ...]
    no: NDArray[np.int64]
    product_c: NDArray[np.float64]
    plate_c: NDArray[np.float64]
    starts: NDArray[np.float64]
    seed: NDArray[np.float64]
    is_seeded: NDArray[np.bool_]
    risen_c: NDArray[np.float64]
    offset_c: float
    bound_s: dict[str, float]


class Travel(NamedTuple):
    """`overshoot_c` is past the target on the side of the travel, >= 0."""

    overshoot_c: float
    within_s: float
    bound_s: float


class Figures(NamedTuple):
    """Of one lane. `wall_over_c` is the plate's greatest excess over its limit (that less the
    probe's offset, as the target), < 0 for none."""

    travels: dict[str, Travel]
    hold_rms_c: float
    in_window_share: float
    cycles_per_h: float
    wall_over_c: float
    is_seed_lost: bool


def figures_of(lane: Lane) -> Figures:
    """Return the figures of one lane."""
    travels = {
        kind: _travel(lane, kind) for kind in TRAVELS if _index(lane.steps, kind) is not None
    }
    work = lane.no == _index(lane.steps, "work")
    off_c = (lane.product_c - lane.risen_c)[work] - _target_c(lane, "work")
    # As the target, the limit lies where the rig's own scale has it: its probe is all it knows.
    limits_c = np.array([step.wall_mc / 1000.0 for step in lane.steps])[lane.no] - lane.offset_c
    return Figures(
        travels,
        hold_rms_c=float(np.sqrt(np.mean(off_c**2))),
        in_window_share=float(np.mean(np.abs(off_c) <= NEAR_C)),
        cycles_per_h=float(lane.starts[work].sum() / (work.sum() / 3600.0)),
        wall_over_c=float((lane.plate_c - limits_c).max()),
        is_seed_lost=bool(lane.seed[-1] < LOST_SHARE),
    )


def _index(steps: tuple[Step, ...], kind: str) -> int | None:
    return next((at for at, step in enumerate(steps) if step.kind == kind), None)


def _target_c(lane: Lane, kind: str) -> float:
    at = _index(lane.steps, kind)
    return lane.steps[at].target_mc / 1000.0 - lane.offset_c


def _travel(lane: Lane, kind: str) -> Travel:
    """From the step's begin to the end of the next hold: its own, else that of the step after.

    Seed's own cold is nobody's undershoot: a cooling ends when it goes in. A rewarm that begins
    over its target, as seed is still melting, counts from where the bulk has come through it.
    """
    at = _index(lane.steps, kind)
    last = at if lane.steps[at].hold_s else at + 1
    if kind == "rewarm":
        last = _index(lane.steps, "work")
    way = (lane.no >= at) & (lane.no <= last)
    if kind == "cool":
        way &= ~lane.is_seeded
    over_c = (lane.product_c - lane.risen_c)[way] - _target_c(lane, kind)
    side = -1.0 if kind == "cool" else 1.0
    outside = np.flatnonzero(np.abs(over_c) > NEAR_C)
    within_s = float(outside[-1] + 1) if len(outside) else 0.0
    past_c = side * over_c
    came = np.flatnonzero(past_c <= 0.0)
    from_row = came[0] if len(came) else int(np.argmax(past_c <= NEAR_C))
    return Travel(max(0.0, float(past_c[from_row:].max())), within_s, lane.bound_s[kind])


def _points(values: list[float], **points: float) -> dict[str, float]:
    """Return these percentiles (100: the greatest), NaN left out; None where nothing is left."""
    known = np.array([value for value in values if not np.isnan(value)])
    return {
        name: round(float(np.percentile(known, at)), 4) if len(known) else None
        for name, at in points.items()
    }


def ratio(travel: Travel) -> float:
    """Time over the bound; NaN where the bulk was there from the start."""
    return travel.within_s / travel.bound_s if travel.bound_s > 0.0 else float("nan")


def summary(lanes: list[Figures]) -> dict[str, Any]:
    """Return the figures of one controller over all rigs."""
    travels = {kind: [lane.travels[kind] for lane in lanes] for kind in lanes[0].travels}
    table: dict[str, Any] = {
        kind: {
            "overshoot_c": _points([one.overshoot_c for one in those], p50=50, p95=95, max=100),
            "time_ratio_to_bound": _points([ratio(one) for one in those], p50=50, p95=95),
        }
        for kind, those in travels.items()
    }
    table["work"] = {
        "hold_rms_c": _points([lane.hold_rms_c for lane in lanes], p50=50, p95=95),
        "in_window_share": _points([lane.in_window_share for lane in lanes], p05=5, p50=50),
        "cycles_per_h": _points([lane.cycles_per_h for lane in lanes], p50=50, p95=95),
    }
    table["wall_over_limit_share"] = float(np.mean([lane.wall_over_c > 0.0 for lane in lanes]))
    table["seed_lost_share"] = float(np.mean([lane.is_seed_lost for lane in lanes]))
    return table
