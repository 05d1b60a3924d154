"""Put a batch tempered by hand, as a logger saw it, beside those of the rig."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.names import check_name
from snapgloss.base.records import FLAG_LOGGED, Event, Reading
from snapgloss.base.units import show_span
from snapgloss.chocolate.types import type_of
from snapgloss.quality.compare import ORDER
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.log_doubts import known_of, lowest_unsure
from snapgloss.quality.log_file import Log, LogColumns, read_log
from snapgloss.quality.spans import gap_over_ms
from snapgloss.quality.words import sentence
from snapgloss.runs.outcome import keep_figures
from snapgloss.schedules.maker import check_mass
from snapgloss.schedules.rules import check_hand_window
from snapgloss.store import NewRun
from snapgloss.store.log_book import CLOCK_UNSURE

if TYPE_CHECKING:
    from snapgloss.store.store import Store

BY_HAND = "by hand"
STEPS = {STEP_WORDS[state]: state for state in ORDER}


class HandBatch(NamedTuple):
    """What a log does not say. Temperatures in milli-degC; None: those of the type.

    `steps`: the word of each step and when it began, in seconds from the first reading.
    """

    chocolate: str
    type: str
    method: str
    mass_g: int
    steps: Sequence[tuple[str, int]]
    window_mc: tuple[int, int] | None = None
    work_mc: int | None = None
    rig: str = BY_HAND
    workshop: str = ""


class Imported(NamedTuple):
    """What became of a log."""

    run: int
    words: str
    cautions: list[str]


def import_log(
    store: "Store", path: Path, columns: LogColumns, batch: HandBatch, instead: int | None = None
) -> Imported:
    """Read a log into the record as a finished run, with its figures.

    `instead`: a run from a log that was read wrongly. It is kept and marked, and counts no more.

    Raises InputError for a log that is not clear, for steps, a mass or a window that cannot be,
    and for a log that is in the record already.
    """
    check_name(batch.chocolate, "The chocolate's name")
    check_mass(batch.mass_g)
    log = read_log(path, columns)
    begins = _begins(batch.steps, log)
    readings = _readings(log, begins)
    events = _events(begins, log.unsure_ms)
    kind = type_of(batch.type)
    low_mc, high_mc = batch.window_mc or (kind.work.low_mc, kind.work.high_mc)
    work_mc = kind.work.default_mc if batch.work_mc is None else batch.work_mc
    check_hand_window(low_mc, high_mc, work_mc, kind)
    new = NewRun(
        "", "", batch.chocolate, batch.type, batch.method, batch.mass_g, low_mc, high_mc, work_mc,
        batch.rig, False, None, batch.workshop,
    )  # fmt: skip
    run_id = store.add_log(new, log.check_sum, log.began_utc_ms, readings, events, instead)
    verdict = keep_figures(store, run_id)[1]
    lowest = lowest_unsure(
        known_of(log.at_ms, log.product_mc), store.figures(run_id)["lowest_c"],
        gap_over_ms(readings),
    )  # fmt: skip
    said = ("Read from a log.", sentence(verdict), log.doubts, lowest)
    words = " ".join(one for one in said if one)
    store.set_words(run_id, words)
    cautions = [*log.cautions, *_left_behind(store, instead)]
    return Imported(run_id, words, cautions)


def _left_behind(store: "Store", instead: int | None) -> list[str]:
    """What a person entered about the run before is not moved: it says so."""
    if instead is None:
        return []
    said = f"Run {instead} is kept and counts no more."
    graded = any(row.run_id == instead for row in store.grades())
    if graded or store.notes(instead):
        said += " Its grades and notes stay with it: enter them again."
    return [said]


def _begins(steps: Sequence[tuple[str, int]], log: Log) -> list[tuple[int, str]]:
    """When each state began, in order of time; before the first it was melting."""
    words = [word for word, _ in steps]
    unknown = next((word for word in words if word not in STEPS), None)
    if unknown is not None:
        raise InputError(f'"{unknown[:20]}" is no step.', f"Choose {', '.join(STEPS)}.")
    twice = next((word for word in words if words.count(word) > 1), None)
    if twice is not None:
        raise InputError(f'"{twice}" began more than once.', "Say when it began first.")
    if "work" not in words:
        raise InputError(
            "A log does not say when work began.", 'Say it: --step "work=55 min", from its start.'
        )
    found = sorted((at_s * 1000, STEPS[word]) for word, at_s in steps)
    order = [ORDER.index(state) for _, state in found]
    if order != sorted(order):
        raise InputError("Those steps are not in their order.", f"It is {', '.join(STEPS)}.")
    late = next((at_ms for at_ms, _ in found if at_ms > log.at_ms[-1]), None)
    if late is not None:
        raise InputError(
            f"A step began {show_span(late // 1000)} after the log, which ends at "
            f"{show_span(log.at_ms[-1] // 1000)}.",
            "Count from the first reading.",
        )
    return found if found[0][0] == 0 else [(0, "melting"), *found]


def _events(begins: list[tuple[int, str]], unsure_ms: int | None) -> list[Event]:
    """Steps in the order of the wire's: the record says of a log what it says of any batch.

    A clock that is not sure is kept as an event beside them: it marks all figures of the run.
    """
    events = [
        Event(number, at_ms, "step", number + 1, ORDER.index(state))
        for number, (at_ms, state) in enumerate(begins)
    ]
    if unsure_ms is not None:
        events.append(Event(len(events), unsure_ms, CLOCK_UNSURE, 0, 0))
    return events


def _readings(log: Log, begins: list[tuple[int, str]]) -> list[Reading]:
    found = []
    step = 0
    for seq, (at_ms, mc) in enumerate(zip(log.at_ms, log.product_mc, strict=True)):
        while step + 1 < len(begins) and at_ms >= begins[step + 1][0]:
            step += 1
        found.append(
            Reading(seq, at_ms, begins[step][1], step + 1, None, mc, None, None, 0, 0, 0,
                    FLAG_LOGGED)
        )  # fmt: skip
    return found
