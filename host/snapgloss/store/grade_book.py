"""What became of the bars: entries that are only ever added; a later one corrects an earlier."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from sqlalchemy import select

from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import (
    ConditionRow,
    CountRow,
    CurveRow,
    GradeRow,
    SmearRow,
    WeightRow,
)
from snapgloss.store.tables import CONDITIONS, COUNTS, CURVES, GRADES, SMEARS, WEIGHTS


class BarsRows(NamedTuple):
    """All entries about one run's bars, each kind oldest first."""

    grades: list[GradeRow]
    counts: list[CountRow]
    weights: list[WeightRow]
    smears: list[SmearRow]
    curves: list[CurveRow]
    conditions: list[ConditionRow]


class GradeBook(OpenRecord):
    """The part of the store that keeps grades, counts, weights and tests of temper."""

    def add_grade(
        self, run_id: int, verdict: str, marks: Sequence[str], photo: str | None, words: str
    ) -> None:
        """Keep a grade. The verdict is sell, seconds or remelt."""
        row = {"verdict": verdict, "marks": ",".join(marks), "photo": photo, "words": words}
        self._enter(GRADES, run_id, "graded_utc_ms", [row])

    def add_count(self, run_id: int, counts: Mapping[str, int | None]) -> None:
        """Keep how many bars were made, sold, seconds and remelt; what is not named is None."""
        row = {name: counts.get(name) for name in ("made", "sold", "seconds", "remelt")}
        self._enter(COUNTS, run_id, "counted_utc_ms", [row])

    def add_weights(self, run_id: int, label_mg: int, nets_mg: Sequence[int]) -> None:
        """Keep the net weights of some bars of one label, all or none."""
        rows = [{"label_mg": label_mg, "net_mg": net_mg} for net_mg in nets_mg]
        self._enter(WEIGHTS, run_id, "weighed_utc_ms", rows)

    def add_smear(self, run_id: int, room_mc: int, set_s: int | None, streaks: bool) -> None:
        """Keep a smear test; `set_s` None when it did not set."""
        row = {"room_mc": room_mc, "set_s": set_s, "streaks": streaks}
        self._enter(SMEARS, run_id, "dipped_utc_ms", [row])

    def add_curve(
        self, run_id: int, set_ratio: float, place: str, cold_mc: int | None, points_csv: str
    ) -> None:
        """Keep a sample's cooling curve and what was read from it."""
        row = {
            "set_ratio": set_ratio,
            "place": place,
            "cold_mc": cold_mc,
            "points_csv": points_csv,
        }
        self._enter(CURVES, run_id, "taken_utc_ms", [row])

    def add_condition(
        self, run_id: int, room_mc: int | None, humidity_permille: int | None
    ) -> None:
        """Keep the room as a person read it."""
        row = {"room_mc": room_mc, "humidity_permille": humidity_permille}
        self._enter(CONDITIONS, run_id, "seen_utc_ms", [row])

    def bars(self, run_id: int) -> BarsRows:
        """All that was entered about a run's bars. Raises InputError for no such run."""
        self.run(run_id)
        return BarsRows(
            self.grades(run_id),
            [CountRow(*row) for row in self._entered(COUNTS, run_id)],
            [WeightRow(*row) for row in self._entered(WEIGHTS, run_id)],
            [SmearRow(*row) for row in self._entered(SMEARS, run_id)],
            [CurveRow(*row) for row in self._entered(CURVES, run_id)],
            [ConditionRow(*row) for row in self._entered(CONDITIONS, run_id)],
        )

    def grades(self, run_id: int | None = None) -> list[GradeRow]:
        """The grades of one run, or of all, oldest first."""
        found = [GradeRow(*row) for row in self._entered(GRADES, run_id)]
        return [row._replace(marks=_marks(str(row.marks))) for row in found]

    def smears(self, run_id: int | None = None) -> list[SmearRow]:
        """The smear tests of one run, or of all, oldest first."""
        return [SmearRow(*row) for row in self._entered(SMEARS, run_id)]

    def set_ratios(self) -> dict[int, float]:
        """The set ratio of each run's last cooling curve, by run."""
        wanted = select(CURVES.c.run_id, CURVES.c.set_ratio).order_by(CURVES.c.id)
        with self._reading() as connection:
            return {int(run): float(ratio) for run, ratio in connection.execute(wanted)}


def _marks(text: str) -> tuple[str, ...]:
    return tuple(text.split(",")) if text else ()
