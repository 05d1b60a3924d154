"""Batches side by side for a screen: the strips of `comparing` as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from snapgloss.quality.compare import GRID_S, ORDER, Parting, Strip
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.log_doubts import left_out_words
from snapgloss.runs.comparing import Compared, apart_words, compare, compared_lines
from snapgloss.runs.curve_view import StepSpan, unchanged
from snapgloss.runs.listing import RunSummary, summary

if TYPE_CHECKING:
    from snapgloss.store.store import Store


@dataclass(frozen=True)
class BesideRow:
    """One batch: from `from_s` on, each `step_s` seconds, how far it is from its band in
    milli-degC (0 inside, None unknown); where it parts from the first, None where it does not.
    Steps are by seconds since the aligned one began. `doubt` says that its clock may have jumped,
    so that nobody knows where it parts."""

    summary: RunSummary
    from_s: float
    off_mc: list[int | None]
    steps: list[StepSpan]
    parts_at_s: float | None
    parts_words: str
    parts_fahrenheit: str
    doubt: str = ""


@dataclass(frozen=True)
class Beside:
    """All of them, aligned at a step by its word; `lines` say where each parts."""

    align: str
    step_s: int
    rows: list[BesideRow]
    lines: list[str]
    fahrenheit: list[str]


def beside(store: "Store", run_ids: Sequence[int], align: str) -> Beside:
    """Put runs beside the first of them. Raises as `comparing.compare` does."""
    found = compare(store, run_ids, align)
    parts: list[Parting | None] = [None, *found.partings]
    rows = [_row(store, found, at, part) for at, part in enumerate(parts)]
    word = STEP_WORDS.get(found.align, found.align)
    return Beside(word, GRID_S, rows, compared_lines(found), compared_lines(found, True))


def _row(store: "Store", found: Compared, at: int, part: Parting | None) -> BesideRow:
    strip = found.strips[at]
    off_mc = [None if np.isnan(c) else round(1000 * float(c)) for c in strip.off_c]
    return BesideRow(
        summary(store, found.rows[at]), float(strip.seconds[0]), off_mc, _steps(strip),
        part.at_s if part else None, apart_words(part) if part else "",
        apart_words(part, True) if part else "",
        left_out_words([strip.run]) if strip.run in found.left_out else "",
    )  # fmt: skip


def _steps(strip: Strip) -> list[StepSpan]:
    known = np.flatnonzero(strip.states >= 0)
    return [
        StepSpan(_word(int(strip.states[known[begin]])), float(strip.seconds[known[begin]]),
                 float(strip.seconds[known[end]]))
        for begin, end in unchanged(strip.states[known])
    ]  # fmt: skip


def _word(state: int) -> str:
    return STEP_WORDS.get(ORDER[state], ORDER[state])
