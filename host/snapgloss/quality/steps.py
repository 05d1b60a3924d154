"""When each step of a run began, reached its temperature and ended, and how long it was in its
band."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.records import Event
from snapgloss.quality.columns import Columns, Floats, Mask

HANDS_IN = "hands_in"
BAND_MC = 500
"""A step but the work is inside its band within this of its target: what a probe nobody has
calibrated may be off. The band of the work is the window."""


class StepTimes(NamedTuple):
    """One step as it went; seconds from the start of the run, None where it never happened.

    `under_min`, `in_min`, `over_min`: recorded minutes of the whole step under, inside and over
    its band, both edges inside; hands in the bowl and missing readings are in none. None where
    no target was told, as in a log.
    """

    step_no: int
    state: str  # melting, resting, ...; hands_in is part of the step it interrupts
    began_s: float
    reached_s: float | None
    ended_s: float
    under_min: float | None = None
    in_min: float | None = None
    over_min: float | None = None

    @property
    def reach_min(self) -> float | None:
        """Minutes from the beginning of the step until its temperature was reached."""
        return None if self.reached_s is None else (self.reached_s - self.began_s) / 60


STEP_FIGURES = (
    "began_s", "reached_s", "ended_s", "reach_min", "under_min", "in_min", "over_min",
)  # fmt: skip


def steps_of(
    run: Columns, events: Sequence[Event], window_mc: tuple[int, int]
) -> tuple[StepTimes, ...]:
    """The steps in the order they ran. A step ends where the next reading of another begins.

    `window_mc` is the band of the work.
    """
    changes = [int(at) + 1 for at in np.flatnonzero(np.diff(run.step_no))]
    edges = [0, *changes, len(run.step_no)]
    return tuple(
        _step(run, events, first, after, window_mc)
        for first, after in pairwise(edges)
        if after > first and run.step_no[first] > 0
    )


def _step(
    run: Columns, events: Sequence[Event], first: int, after: int, window_mc: tuple[int, int]
) -> StepTimes:
    """The step of the readings from `first` to before `after`."""
    zero_ms, last = run.start_ms(), len(run.at_ms) - 1
    began_ms, ended_ms = int(run.at_ms[first]), int(run.at_ms[min(after, last)])
    busy = ~run.in_state(HANDS_IN)[first:after]
    return StepTimes(
        int(run.step_no[first]),
        run.state(first + int(busy.argmax())),
        (began_ms - zero_ms) / 1000,
        _reached_s(run, events, (first, after), (began_ms, ended_ms)),
        (ended_ms - zero_ms) / 1000,
        *_beside_band(run, slice(first, after), window_mc),
    )


def _beside_band(
    run: Columns, part: slice, window_mc: tuple[int, int]
) -> tuple[float | None, float | None, float | None]:
    """Minutes under, inside and over the band; all None where there is none."""
    low_mc, high_mc = _band_mc(run, part, window_mc)
    product_mc = run.product_mc[part]
    seen = ~run.gap[part] & ~run.in_state(HANDS_IN)[part]
    if np.isnan(low_mc[seen]).all():
        return None, None, None
    wheres: tuple[Mask, ...] = (
        product_mc < low_mc, (product_mc >= low_mc) & (product_mc <= high_mc), product_mc > high_mc
    )  # fmt: skip
    under, inside, over = (int(run.span_ms[part][seen & w].sum()) / 60_000 for w in wheres)
    return under, inside, over


def _band_mc(run: Columns, part: slice, window_mc: tuple[int, int]) -> tuple[Floats, Floats]:
    target_mc, working = run.target_mc[part], run.in_state("working")[part]
    low_mc = np.where(working, window_mc[0], target_mc - BAND_MC)
    return low_mc, np.where(working, window_mc[1], target_mc + BAND_MC)


def _reached_s(
    run: Columns, events: Sequence[Event], part: tuple[int, int], between_ms: tuple[int, int]
) -> float | None:
    """By the rig's own event; where that was lost, by the flag in the readings."""
    step_no, readings = run.step_no[part[0]], slice(*part)
    told = [
        event.at_ms
        for event in events
        if event.kind == "reached"
        and event.a == step_no
        and between_ms[0] <= event.at_ms <= between_ms[1]
    ]
    seen = run.at_ms[readings][run.flags[readings] & FLAG_HOLDING > 0]
    reached = told or [int(at_ms) for at_ms in seen[:1]]
    return (min(reached) - run.start_ms()) / 1000 if reached else None
