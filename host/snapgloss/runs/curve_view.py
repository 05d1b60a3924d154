"""The curve of one run for a screen: thinned readings, steps, gaps."""

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from snapgloss.quality.columns import NAMES, Columns, Floats
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.thinning import thinned

if TYPE_CHECKING:
    from snapgloss.store.store import Store

DRAWN = [name for name in NAMES if name != "room_mc"]
WIDTH_LEAST, WIDTH_MOST = 50, 4000


@dataclass(frozen=True)
class StepSpan:
    """A step by its word, from second to second."""

    words: str
    from_s: float
    to_s: float


@dataclass(frozen=True)
class CurveView:
    """Columns of equal length: seconds since the run began, milli-degC, thousandths of full heat.

    A missing value is None; between two readings with a gap stands a row of None. `of` is how
    many readings there are, `zero_ms` the device's time at second 0.
    """

    of: int
    at_s: list[float]
    product_mc: list[int | None]
    target_mc: list[int | None]
    plate_mc: list[int | None]
    heat_permille: list[int | None]
    window_low_mc: int
    window_high_mc: int
    steps: list[StepSpan]
    zero_ms: int


def curve_view(store: "Store", run_id: int, width: int) -> CurveView:
    """Return the curve for a picture `width` pixels wide (50 to 4000; else the nearest).

    Raises InputError when there is no such run.
    """
    run, columns = store.run(run_id), Columns.by_name(store.series(run_id, DRAWN))
    zero_ms = columns.start_ms()
    kept = thinned(columns, min(max(width, WIDTH_LEAST), WIDTH_MOST))
    broken = _after_gaps(columns, kept)

    def of(values: Any) -> list[int | None]:
        there = np.insert(np.asarray(values, dtype=float)[kept], broken, np.nan).tolist()
        return [None if value != value else int(value) for value in there]  # noqa: PLR0124

    return CurveView(
        len(columns.at_ms), _seconds(columns, kept, broken, zero_ms), of(columns.product_mc),
        of(columns.target_mc), of(columns.plate_mc), of(columns.heat_permille),
        run.window_low_mc, run.window_high_mc, _steps(columns, zero_ms), zero_ms,
    )  # fmt: skip


def unchanged(numbers: Any) -> list[tuple[int, int]]:
    """Where each stretch of equal numbers begins, and where the next does; the last ends with
    them."""
    changes = (np.flatnonzero(np.diff(numbers)) + 1).tolist()
    return list(pairwise([0, *changes, len(numbers) - 1])) if len(numbers) else []


def _after_gaps(columns: Columns, kept: Any) -> Any:
    """The places among the kept ones before which a gap ends; both its sides are always kept
    where it is wider than a pixel."""
    lost = np.concatenate([[0], np.cumsum(columns.gap)])
    return np.flatnonzero(np.diff(lost[kept]) > 0) + 1


def _seconds(columns: Columns, kept: Any, broken: Any, zero_ms: int) -> list[float]:
    at_ms: Floats = columns.at_ms[kept].astype(float)
    middle_ms = (at_ms[broken] + at_ms[broken - 1]) / 2
    seconds = (np.insert(at_ms, broken, middle_ms) - zero_ms) / 1000
    found: list[float] = np.round(seconds, 1).tolist()
    return found


def _steps(columns: Columns, zero_ms: int) -> list[StepSpan]:
    """Each stretch of readings in the same step, hands in the bowl left to the step around."""
    numbers, at_ms = columns.step_no, columns.at_ms
    return [
        StepSpan(_word(columns, begin, end), (at_ms[begin] - zero_ms) / 1000,
                 (at_ms[end] - zero_ms) / 1000)
        for begin, end in unchanged(numbers)
        if numbers[begin] > 0
    ]  # fmt: skip


def _word(columns: Columns, begin: int, end: int) -> str:
    states = (columns.state(at) for at in range(begin, max(begin + 1, end)))
    found = next((s for s in states if s in STEP_WORDS and s != "hands_in"), "")
    return STEP_WORDS.get(found, found)
