"""Axes as we like them: no box, quiet ticks, times people read."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes

from snapgloss.base.units import show_h_mm
from snapgloss.report import palette as p
from snapgloss.report.curves import Floats
from snapgloss.report.marks import Place

_STEPS_MIN = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240)
_MOST_TICKS = 12
_SIZE = 9


def bare(axes: Axes) -> None:
    """Leave out the box and tone the ticks down."""
    axes.set_facecolor("none")
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.tick_params(length=0, labelsize=_SIZE, labelcolor=p.QUIET.light)
    axes.yaxis.label.set_color(p.QUIET.light)


def set_minutes(axes: Axes, total_min: float, labelled: bool) -> None:
    """Time across: minutes up to 100 of them, beyond that hours and minutes."""
    step = next((s for s in _STEPS_MIN if total_min / s <= _MOST_TICKS), _STEPS_MIN[-1])
    ticks = np.arange(0, total_min + 1e-9, step)
    axes.set_xlim(0, max(total_min, 1e-3))
    if not labelled:
        axes.set_xticks(ticks, [""] * len(ticks))
        return
    by_hours = total_min > 100
    axes.set_xticks(ticks, [show_h_mm(t * 60) if by_hours else f"{t:.0f}" for t in ticks])
    axes.set_xlabel(
        "hours and minutes since the start" if by_hours else "minutes since the start",
        color=p.QUIET.light,
        size=_SIZE,
    )


def set_room(axes: Axes, curves: Sequence[Floats], places: Sequence[Place]) -> None:
    """Limits that leave room above for the rows of words, and below for the key."""
    known = np.concatenate(curves)
    known = known[~np.isnan(known)]
    low, high = (float(known.min()), float(known.max())) if known.size else (15.0, 55.0)
    span = max(high - low, 5.0)
    deepest = max((place.row for place in places), default=-1)
    axes.set_ylim(low - 0.12 * span, high + (0.06 + 0.085 * (deepest + 1)) * span)
