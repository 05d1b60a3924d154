"""Finding batches in the record: by words, chocolate, result and day, a page at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.quality import grades
from snapgloss.quality.temper_bands import GRADES
from snapgloss.runs.in_time import newest_first
from snapgloss.runs.listing import RunSummary, summary
from snapgloss.store import RunRow

if TYPE_CHECKING:
    from snapgloss.store.rows import GradeRow
    from snapgloss.store.store import Store

OUTCOMES = ("finished", "off", "stopped", "unfinished")
UNGRADED = "ungraded"
RESULTS = (*OUTCOMES, *GRADES, UNGRADED)
"""What a result may be: how the rig ended, or what became of the bars."""
MOST = 200


@dataclass(frozen=True)
class Wanted:
    """What to look for; what is empty is not asked.

    Every one of `words` must stand in name, result, rig, workshop, notes or as the number. Days
    are those of this computer, both inclusive.
    """

    words: str = ""
    chocolate: str = ""
    result: str = ""
    since: date | None = None
    until: date | None = None


@dataclass(frozen=True)
class FoundRun:
    """A batch of a list. `grade` is the worst of its looks, empty where nobody graded;
    `day` is its beginning by this computer's clock."""

    summary: RunSummary
    day: str
    grade: str
    grade_words: str


@dataclass(frozen=True)
class Found:
    """One page of what was found, the newest first (see `in_time`); `total` counts all,
    `chocolates` every name of the record."""

    total: int
    first: int
    batches: list[FoundRun]
    chocolates: list[str]


def search(store: "Store", wanted: Wanted, first: int = 0, most: int = 60) -> Found:
    """Return the batches from place `first` on, at most `most` (up to 200).

    Raises InputError for a result that is none, or days in the wrong order.
    """
    _check(wanted)
    runs, entries = newest_first(store), _entries(store)
    kept = [run for run in runs if _fits(run, wanted)]
    if wanted.words.strip():
        notes = store.words_of_notes()
        kept = [run for run in kept if _says(run, notes.get(run.id, ""), wanted.words)]
    if wanted.result and wanted.result not in OUTCOMES:
        kept = [run for run in kept if _grade(run, entries)[0] == _sought(wanted.result)]
    page = kept[first : first + min(most, MOST)]
    shown = [_found(store, run, entries) for run in page]
    return Found(len(kept), first, shown, sorted({run.chocolate for run in runs}))


def _check(wanted: Wanted) -> None:
    if wanted.result and wanted.result not in RESULTS:
        raise InputError(f'"{wanted.result}" is no result.', f"Choose from {', '.join(RESULTS)}.")
    if wanted.since and wanted.until and wanted.since > wanted.until:
        raise InputError("The first day is after the last.", "Exchange them.")


def _fits(run: RunRow, wanted: Wanted) -> bool:
    day = _day(run).date()
    return (
        (not wanted.chocolate or run.chocolate == wanted.chocolate)
        and (wanted.result not in OUTCOMES or run.outcome == wanted.result)
        and (wanted.since is None or day >= wanted.since)
        and (wanted.until is None or day <= wanted.until)
    )


def _says(run: RunRow, notes: str, words: str) -> bool:
    said = (run.chocolate, run.type, run.method, run.rig, run.workshop, run.outcome, run.words)
    text = f"#{run.id} {' '.join(said)} {notes}".casefold()
    return all(word in text for word in words.casefold().split())


def _sought(result: str) -> str:
    return "" if result == UNGRADED else result


def _day(run: RunRow) -> datetime:
    return datetime.fromtimestamp(run.started_utc_ms / 1000)


def _entries(store: "Store") -> "dict[int, list[GradeRow]]":
    found: dict[int, list[GradeRow]] = {}
    for row in store.grades():
        found.setdefault(row.run_id, []).append(row)
    return found


def _grade(run: RunRow, entries: "dict[int, list[GradeRow]]") -> tuple[str, str]:
    """The worst grade of a run, and what its looks say."""
    own: Sequence[GradeRow] = entries.get(run.id, ())
    ended_utc_ms = run.started_utc_ms if run.ended_utc_ms is None else run.ended_utc_ms
    taken = grades.standings(own, ended_utc_ms) if own else []
    return grades.worst(taken) or "", ". ".join(one.words for one in taken)


def _found(store: "Store", run: RunRow, entries: "dict[int, list[GradeRow]]") -> FoundRun:
    grade, words = _grade(run, entries)
    return FoundRun(summary(store, run), f"{_day(run):%Y-%m-%d %H:%M}", grade, words)
