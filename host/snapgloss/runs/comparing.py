"""Batches side by side, read from the store."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_difference
from snapgloss.quality.compare import ORDER, Parting, Strip, parting, strip_of
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.log_doubts import left_out_words
from snapgloss.quality.words import show_minutes

if TYPE_CHECKING:
    from snapgloss.store import RunRow
    from snapgloss.store.store import Store

MOST = 12
STEP_NAMES = {STEP_WORDS.get(state, state): state for state in ORDER}
"""What a person calls a step, and its state."""


@dataclass(frozen=True)
class Compared:
    """Runs aligned at a step; each but the first with where it parts from the first, or None.

    `left_out`: runs from logs whose clock may have jumped; where they part nobody knows.
    """

    align: str
    rows: tuple["RunRow", ...]
    strips: tuple[Strip, ...]
    partings: tuple[Parting | None, ...]
    left_out: tuple[int, ...] = ()


def compare(store: "Store", run_ids: Sequence[int], align: str) -> Compared:
    """Put runs beside the first of them, aligned at a step, by its word or its state.

    Raises InputError for fewer than two runs, for more than 12, for one named twice, for one that
    never came to that step, and for a first one whose clock may have jumped.
    """
    if len(set(run_ids)) != len(run_ids) or not 2 <= len(run_ids) <= MOST:
        raise InputError(f"Give 2 to {MOST} different batches.", "List them: snapgloss runs.")
    unsure = store.unsure_clocks()
    if run_ids[0] in unsure:
        raise InputError(
            f"Run {run_ids[0]} is no measure for others: the clock of its log may have jumped.",
            "Name another one first.",
        )
    state = STEP_NAMES.get(align, align)
    rows = tuple(store.run(run_id) for run_id in run_ids)
    strips = tuple(
        strip_of(row.id, store.readings(row.id), (row.window_low_mc, row.window_high_mc), state)
        for row in rows
    )
    partings = tuple(
        None if strip.run in unsure else parting(strips[0], strip) for strip in strips[1:]
    )
    left_out = tuple(run_id for run_id in run_ids if run_id in unsure)
    return Compared(state, rows, strips, partings, left_out)


def compared_lines(found: Compared, fahrenheit: bool = False) -> list[str]:
    """Where each run parts from the first, in sentences."""
    first, step = found.rows[0].id, found.align
    lines = []
    for row, part in zip(found.rows[1:], found.partings, strict=True):
        if row.id in found.left_out:
            lines.append(left_out_words([row.id]))
            continue
        if part is None:
            lines.append(f"Run {row.id} stays with run {first} from {step} on, within noise.")
            continue
        when = f"as {step} began"
        if part.at_s:
            there = "" if part.state == step else f", in {part.state.replace('_', ' ')}"
            when = f"{show_minutes(part.at_s / 60)} after {step} began{there}"
        lines.append(
            f"Run {row.id} parts from run {first} {when}: {apart_words(part, fahrenheit)}."
        )
    return lines


def apart_words(part: Parting, fahrenheit: bool = False) -> str:
    """ "0.6 °C over it"."""
    side = "over" if part.apart_c > 0 else "under"
    return f"{show_difference(abs(part.apart_c), fahrenheit)} {side} it"
