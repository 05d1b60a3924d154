"""When each step of a run began, reached its temperature, and ended."""

from collections.abc import Sequence
from typing import NamedTuple

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.records import Event, Reading
from snapgloss.quality.spans import start_ms

HANDS_IN = "hands_in"


class StepTimes(NamedTuple):
    """One step as it went; seconds from the start of the run, None where it never happened."""

    step_no: int
    state: str  # melting, resting, ...; hands_in is part of the step it interrupts
    began_s: float
    reached_s: float | None
    ended_s: float


def steps_of(readings: Sequence[Reading], events: Sequence[Event]) -> tuple[StepTimes, ...]:
    """The steps in the order they ran. A step ends where the next reading of another begins."""
    zero_ms = start_ms(readings)
    runs = _blocks(readings)
    return tuple(
        StepTimes(
            block[0].step_no,
            next((r.state for r in block if r.state != HANDS_IN), HANDS_IN),
            (block[0].at_ms - zero_ms) / 1000,
            _reached_s(block, ended_ms, events, zero_ms),
            (ended_ms - zero_ms) / 1000,
        )
        for block, ended_ms in runs
    )


def _blocks(readings: Sequence[Reading]) -> list[tuple[list[Reading], int]]:
    """Stretches of readings in one step, each with the time it ended."""
    blocks: list[tuple[list[Reading], int]] = []
    current: list[Reading] = []
    for reading in readings:
        if current and reading.step_no != current[0].step_no:
            blocks.append((current, reading.at_ms))
            current = []
        if reading.step_no > 0:
            current.append(reading)
    if current:
        blocks.append((current, current[-1].at_ms))
    return blocks


def _reached_s(
    block: list[Reading], ended_ms: int, events: Sequence[Event], zero_ms: int
) -> float | None:
    """By the rig's own event; where that was lost, by the flag in the readings."""
    began_ms, step_no = block[0].at_ms, block[0].step_no
    told = [
        event.at_ms
        for event in events
        if event.kind == "reached" and event.a == step_no and began_ms <= event.at_ms <= ended_ms
    ]
    seen = [reading.at_ms for reading in block if reading.flags & FLAG_HOLDING]
    reached = told or seen
    return (min(reached) - zero_ms) / 1000 if reached else None
