"""What the record says of runs, as plain data for a screen or a program."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from snapgloss.quality.event_words import say_all
from snapgloss.runs.fitted import probe_lines, uncertainty_mc
from snapgloss.runs.grading import BarsSummary, bars_summary, worst_grades
from snapgloss.runs.in_time import newest_first
from snapgloss.runs.lot_words import source_lines
from snapgloss.runs.trays import tray_lines
from snapgloss.store import TO_THE_END, GapRow, RunRow

if TYPE_CHECKING:
    from snapgloss.store.store import Store

UNDER_WAY = "It is under way."
OPEN = "It is under way, or its record ended before the batch did."
SILENT_MOST_MS = 60_000  # a rig speaks every second; a slow computer may be late


@dataclass(frozen=True)
class RunSummary:
    """One run in a list. `began` is ISO 8601 in UTC; temperatures in milli-degC; `grade` is the
    worst of all looks at its bars, None where nobody graded them."""

    run: int
    began: str
    chocolate: str
    type: str
    method: str
    mass_g: int
    rig: str
    workshop: str
    simulated: bool
    outcome: str
    words: str
    grade: str | None = None


@dataclass(frozen=True)
class EventLine:
    """One thing that happened, `at_s` seconds after the run began, in words."""

    at_s: int
    words: str


@dataclass(frozen=True)
class RunDetails:
    """A run with all that is known of it; figures are those of quality.figures. `probe_mc`: how
    far the chocolate's probe may be off."""

    summary: RunSummary
    window_low_mc: int
    window_high_mc: int
    work_mc: int
    seed: int | None
    digest: str
    figures: dict[str, float | None]
    events: list[EventLine]
    gaps: list[str]
    notes: list[str]
    bars: BarsSummary
    lots: list[str]
    trays: list[str]
    probes: list[str]
    probe_mc: int
    firmware: str
    schedule_toml: str


def list_runs(store: "Store", with_replaced: bool = False) -> list[RunSummary]:
    """Return all runs, the newest first by when they were made (see `in_time`), with the grades of
    their bars; those from logs that were read again only if asked."""
    found = newest_first(store, with_replaced)
    grades = worst_grades(store, found)
    listed = [summary(store, run, grades.get(run.id)) for run in found]
    by = store.replaced_by() if with_replaced else {}
    return [_marked(one, by) for one in listed]


def _marked(one: RunSummary, replaced_by: Mapping[int, int]) -> RunSummary:
    by = replaced_by.get(one.run)
    return one if by is None else replace(one, words=f"Run {by} stands instead. {one.words}")


def clock_doubt_of(store: "Store", run_id: int) -> str:
    """Say of a run from a log whose clock may have jumped that its figures are not sure."""
    if run_id not in store.unsure_clocks():
        return ""
    return f"The clock of this log may have jumped: no figure of run {run_id} is sure."


def show_run(store: "Store", run_id: int, fahrenheit: bool = False) -> RunDetails:
    """Return one run; raises StoreError when there is none of that number."""
    with store.at_once():
        return _details(store, store.run(run_id), fahrenheit)


def _details(store: "Store", run: RunRow, fahrenheit: bool) -> RunDetails:
    run_id = run.id
    return RunDetails(
        summary=summary(store, run, worst_grades(store, [run]).get(run_id)),
        window_low_mc=run.window_low_mc,
        window_high_mc=run.window_high_mc,
        work_mc=run.work_mc,
        seed=run.seed,
        digest=run.digest,
        figures=store.figures(run_id),
        events=_events(store, run, fahrenheit),
        gaps=[_lost(gap) for gap in store.gaps(run_id)],
        notes=[note.words for note in store.notes(run_id)],
        bars=bars_summary(store, run_id, fahrenheit),
        lots=source_lines(store, run_id),
        trays=tray_lines(store, run_id),
        probes=probe_lines(store, run_id),
        probe_mc=uncertainty_mc(store, run_id),
        firmware=store.firmwares(run_id).get(run_id, ""),
        schedule_toml=run.schedule_toml,
    )


def in_fahrenheit(store: "Store", found: RunDetails) -> RunDetails:
    """The same for who reads degF: what happened and what is said of the bars."""
    run = store.run(found.summary.run)
    return replace(found, events=_events(store, run, True), bars=bars_summary(store, run.id, True))


def _lost(gap: GapRow) -> str:
    upto = "on" if gap.to_seq == TO_THE_END else f"to {gap.to_seq}"
    from_ = "from " if gap.to_seq == TO_THE_END else ""
    return f"{gap.stream} {from_}{gap.from_seq} {upto}: {gap.why}"


def _open_words(store: "Store", run: RunRow) -> str:
    """Say of a run without an end what is known: a simulated rig's clock tells nothing."""
    silent_ms = None if run.simulated else store.silent_ms(run.id)
    return OPEN if silent_ms is None or silent_ms > SILENT_MOST_MS else UNDER_WAY


def summary(store: "Store", run: RunRow, grade: str | None = None) -> RunSummary:
    """Return a run as a list shows it; the grade is known to who read the grades of many."""
    began = datetime.fromtimestamp(run.started_utc_ms / 1000, UTC)
    return RunSummary(
        run.id,
        began.isoformat(timespec="seconds").replace("+00:00", "Z"),
        run.chocolate,
        run.type,
        run.method,
        run.mass_g,
        run.rig,
        run.workshop,
        run.simulated,
        run.outcome,
        run.words or (_open_words(store, run) if run.outcome == "unfinished" else ""),
        grade,
    )


def _events(store: "Store", run: RunRow, fahrenheit: bool) -> list[EventLine]:
    parts = store.parts(run.id)
    start_ms = parts[0].start_ms if parts else 0
    said = say_all(store.events(run.id), fahrenheit)
    return [EventLine((one.at_ms - start_ms) // 1000, one.words) for one in said]
