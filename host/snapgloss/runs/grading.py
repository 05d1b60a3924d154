"""Grade the bars of a run, count and weigh them, and see what the record says of them."""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_temperature
from snapgloss.quality import bar_counts, grades
from snapgloss.quality.bar_counts import check_counts, count_words, net_weights, standing_weights
from snapgloss.quality.temper_bands import FAULTS, Fault, Grade, GradedBar
from snapgloss.quality.temper_smear import Smear, SmearTest, smear_sentence
from snapgloss.runs import gloss
from snapgloss.runs.in_time import newest_first
from snapgloss.runs.photos import keep_photo, read_photo
from snapgloss.store import RunRow

if TYPE_CHECKING:
    from snapgloss.store.grade_book import BarsRows
    from snapgloss.store.rows import ConditionRow, GradeRow, SmearRow
    from snapgloss.store.store import Store

WORDS_MOST, TAKEN_BACK = 400, "Weights taken back."
ASKED_DAYS = 90  # bars older than this are sold or eaten; nobody is asked about them again


@dataclass(frozen=True)
class BarsSummary:
    """What the record says of a run's bars; `lines` says all of it in sentences."""

    standings: list[grades.Standing]
    points_to: grades.Points
    counts: dict[str, int | None] | None
    smear: Smear | None
    set_ratio: float | None
    photos: list[str]
    lines: list[str]


class DueLook(NamedTuple):
    """Bars to look at again."""

    run: int
    chocolate: str
    look: grades.Look

    @property
    def words(self) -> str:
        """ "Run 3, Lantern 72: look at the bars, after a week." """
        return f"Run {self.run}, {self.chocolate}: grade the bars {grades.LOOK_WORDS[self.look]}."


class GradedRun(NamedTuple):
    """A run whose bars were graded, with what was known of its temper.

    `grade` is the worst of all looks, `first` that of the first look or None. `set_ratio` is None
    without a cooling curve, `smear` without a smear test. `points_to` says whether a bad bar is
    the bowl's.
    """

    run: int
    chocolate: str
    type: str
    method: str
    rig: str
    simulated: bool
    ended_utc_ms: int
    grade: Grade
    first: Grade | None
    marks: tuple[str, ...]
    set_ratio: float | None
    smear: Smear | None
    points_to: grades.Points


def grade(
    store: "Store",
    run_id: int,
    verdict: str,
    marks: Sequence[str] = (),
    photo: Path | bytes | None = None,
    words: str = "",
    data_folder: Path | None = None,
) -> grades.Standing:
    """Keep one grade and return what counts of its look now.

    A photo, by its path or itself, is copied into `photos` of the data folder. Raises InputError
    for a word or a file that cannot be used, StoreError when it cannot be kept.
    """
    found, kept_marks = grades.check_grade(verdict, marks)
    _check_words(words)
    run = store.run(run_id)
    kept = None
    if photo is not None and data_folder is not None:
        content = photo if isinstance(photo, bytes) else read_photo(photo)
        kept = keep_photo(content, run_id, data_folder)
    store.add_grade(run_id, found, kept_marks, kept, words)
    entries = store.grades(run_id)
    look = grades.look_at(entries[-1].graded_utc_ms, _ended_utc_ms(run))
    taken = grades.standings(entries, _ended_utc_ms(run))
    return next(one for one in taken if one.look == look)


def count(store: "Store", run_id: int, **counts: int | None) -> None:
    """Keep how many bars there were; what is not named stays as it was counted before.

    Raises InputError when they cannot be so many.
    """
    check_counts(counts)  # one at least is given
    held = store.bars(run_id).counts
    before = {name: getattr(held[-1], name) for name in bar_counts.COUNTED} if held else {}
    given = {name: number for name, number in counts.items() if number is not None}
    store.add_count(run_id, check_counts({**before, **given}))


def weigh(store: "Store", run_id: int, label_mg: int | None, nets_mg: Sequence[int]) -> str:
    """Keep net weights and say how they agree with the label.

    0 takes back what was weighed before of this label, alone and without one of every label; it is
    kept as an entry all the same. Raises InputError for a weight without a label.
    """
    if label_mg is None:
        if any(nets_mg):
            raise InputError("Weights and label go together.", "Give --label and --weighed.")
        for label in {row.label_mg for row in store.bars(run_id).weights}:
            store.add_weights(run_id, label, (0,))
        return TAKEN_BACK
    if any(net_mg and not label_mg / 2 <= net_mg <= label_mg * 2 for net_mg in nets_mg):
        raise InputError(
            "A bar cannot weigh less than half or more than twice what its label says.",
            "Weigh without wrapper and tare the scale, or correct the label.",
        )
    store.add_weights(run_id, label_mg, nets_mg)
    known = standing_weights(nets_mg)
    return net_weights(label_mg, known).words if known else TAKEN_BACK


def due_looks(store: "Store", now_utc_ms: int | None = None) -> list[DueLook]:
    """Bars to grade now, the newest run first; simulated runs have none."""
    now_utc_ms = time.time_ns() // 1_000_000 if now_utc_ms is None else now_utc_ms
    by_run = _by_run(store.grades())
    found = []
    for run in newest_first(store):
        ended_utc_ms = run.ended_utc_ms
        old = ended_utc_ms is None or now_utc_ms - ended_utc_ms > ASKED_DAYS * grades.DAY_MS
        if run.simulated or old or ended_utc_ms is None or run.outcome == "unfinished":
            continue
        look = grades.look_due(by_run.get(run.id, []), ended_utc_ms, now_utc_ms)
        if look is not None:
            found.append(DueLook(run.id, run.chocolate, look))
    return found


def bars_summary(store: "Store", run_id: int, fahrenheit: bool = False) -> BarsSummary:
    """What is known of a run's bars. Raises InputError for no such run."""
    run, held = store.run(run_id), store.bars(run_id)
    taken = grades.standings(held.grades, _ended_utc_ms(run))
    smear = smear_of(held.smears)
    counts = held.counts[-1]._asdict() if held.counts else None
    points = grades.points_to(taken, smear)
    looks = [*gloss.gloss_lines(store, run_id), *gloss.snap_lines(store, run_id)]
    return BarsSummary(
        taken,
        points,
        None if counts is None else check_counts(counts),
        smear,
        held.curves[-1].set_ratio if held.curves else None,
        [row.photo for row in held.grades if row.photo],
        [line for line in _lines(held, taken, points, counts, fahrenheit) if line] + looks,
    )


def _lines(
    held: "BarsRows",
    taken: list[grades.Standing],
    points: grades.Points,
    counts: dict[str, int | None] | None,
    fahrenheit: bool,
) -> list[str]:
    lines = [_condition_words(row, fahrenheit) for row in held.conditions]
    lines += [f"Knife: {smear_sentence(_test(row), fahrenheit)}" for row in held.smears]
    lines += [f"Cooling curve: set ratio {row.set_ratio:.2f}." for row in held.curves]
    lines.append("" if counts is None else count_words(counts))
    for label_mg in sorted({row.label_mg for row in held.weights}):
        nets_mg = standing_weights([r.net_mg for r in held.weights if r.label_mg == label_mg])
        lines.append(net_weights(label_mg, nets_mg).words if nets_mg else "")
    lines += [f"{one.words}." for one in taken]
    lines += [row.words for row in held.grades if row.words]
    lines += grades.contradictions(taken, counts)
    return [*lines, grades.POINTS_WORDS[points]]


def note(
    store: "Store", run_id: int, words: str, room_mc: int | None, humidity_permille: int | None
) -> None:
    """Keep a note of a person, and the room as they read it. Raises InputError for neither."""
    seen = room_mc is not None or humidity_permille is not None
    if not words.strip() and not seen:
        raise InputError("There is nothing to note.", "Give words, --room or --humidity.")
    _check_words(words)
    store.run(run_id)
    if words.strip():
        store.add_note(run_id, words.strip())
    if seen:
        store.add_condition(run_id, room_mc, humidity_permille)


def _check_words(words: str) -> None:
    if len(words) > WORDS_MOST or not words.isprintable():
        raise InputError("The words are too long, or not one line.", f"Write up to {WORDS_MOST}.")


def _condition_words(row: "ConditionRow", fahrenheit: bool) -> str:
    parts = []
    if row.room_mc is not None:
        parts.append(show_temperature(row.room_mc, fahrenheit))
    if row.humidity_permille is not None:
        parts.append(f"{row.humidity_permille / 10:g} % humidity")
    return f"Room {', '.join(parts)}."


def graded_runs(store: "Store") -> list[GradedRun]:
    """Every run whose bars were graded, oldest first, simulated ones too."""
    by_run, ratios = _by_run(store.grades()), store.set_ratios()
    smears: dict[int, list[SmearRow]] = {}
    for row in store.smears():
        smears.setdefault(row.run_id, []).append(row)
    found = []
    for run in reversed(store.runs()):
        taken = grades.standings(by_run.get(run.id, []), _ended_utc_ms(run))
        worst = grades.worst(taken)
        if worst is None:
            continue
        smear = smear_of(smears.get(run.id, []))
        marks = tuple(m for m in grades.MARKS if any(m in one.marks for one in taken))
        found.append(
            GradedRun(
                run.id, run.chocolate, run.type, run.method, run.rig, run.simulated,
                _ended_utc_ms(run), worst, taken[0].verdict if taken[0].look == "first" else None,
                marks, ratios.get(run.id), smear, grades.points_to(taken, smear),
            )
        )  # fmt: skip
    return found


def worst_grades(store: "Store", runs: Sequence[RunRow]) -> dict[int, Grade]:
    """The worst grade of each of these runs whose bars were graded, by run."""
    rows = store.grades(runs[0].id if len(runs) == 1 else None)
    by_run, found = _by_run(rows), {}
    for run in runs:
        own = by_run.get(run.id)
        worst = grades.worst(grades.standings(own, _ended_utc_ms(run))) if own else None
        if worst is not None:
            found[run.id] = worst
    return found


def graded_bars(store: "Store") -> list[GradedBar]:
    """The graded runs as the bands of the set ratio take them (`quality.temper_bands`).

    Runs without a cooling curve and simulated ones are left out, and so are bad bars that point
    to cooling or store: they say nothing of the bowl.
    """
    return [
        GradedBar(run.set_ratio, run.grade, run.method, _faults(run.marks))
        for run in graded_runs(store)
        if run.set_ratio is not None
        and not run.simulated
        and run.points_to not in ("cooling", "store")
    ]


def _faults(marks: Sequence[str]) -> frozenset[Fault]:
    return frozenset(fault for fault in FAULTS if fault.replace("_", " ") in marks)


def smear_of(rows: "Sequence[SmearRow]") -> Smear | None:
    """What the last smear test said: it was dipped nearest to the pour. None without one."""
    return _test(rows[-1]).result if rows else None


def _test(row: "SmearRow") -> SmearTest:
    return SmearTest(row.room_mc, row.set_s, row.streaks)


def _ended_utc_ms(run: RunRow) -> int:
    return run.started_utc_ms if run.ended_utc_ms is None else run.ended_utc_ms


def _by_run(rows: "Sequence[GradeRow]") -> "dict[int, list[GradeRow]]":
    found: dict[int, list[GradeRow]] = {}
    for row in rows:
        found.setdefault(row.run_id, []).append(row)
    return found
