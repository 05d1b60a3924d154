"""When each step of a run began, reached its temperature, and ended."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.records import Event
from snapgloss.quality.columns import Columns

HANDS_IN = "hands_in"


class StepTimes(NamedTuple):
    """One step as it went; seconds from the start of the run, None where it never happened."""

    step_no: int
    state: str  # melting, resting, ...; hands_in is part of the step it interrupts
    began_s: float
    reached_s: float | None
    ended_s: float


def steps_of(run: Columns, events: Sequence[Event]) -> tuple[StepTimes, ...]:
    """The steps in the order they ran. A step ends where the next reading of another begins."""
    changes = [int(at) + 1 for at in np.flatnonzero(np.diff(run.step_no))]
    edges = [0, *changes, len(run.step_no)]
    return tuple(
        _step(run, events, first, after)
        for first, after in pairwise(edges)
        if after > first and run.step_no[first] > 0
    )


def _step(run: Columns, events: Sequence[Event], first: int, after: int) -> StepTimes:
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
    )


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
