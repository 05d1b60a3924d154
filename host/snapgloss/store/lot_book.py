"""Bags, what went into runs, and labels: entries that are only ever added."""

import json
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from sqlalchemy import Table, insert, select

from snapgloss.store.grade_book import GradeBook
from snapgloss.store.rows import BagRow, LabelRow, UseRow
from snapgloss.store.tables import BAGS, LABELS, USES

_LISTS = ("contains", "may_contain")


class LotBook(GradeBook):
    """The part of the store that keeps what bars were made of."""

    def add_bag(self, bag: Mapping[str, Any]) -> None:
        """Keep a bag: lot, name, supplier, mass_g, best_before, contains, may_contain."""
        row = {**_listed(bag), "entered_utc_ms": self._clock_utc_ms()}
        with self._writing() as connection:
            connection.execute(insert(BAGS).values(row))

    def add_use(
        self, run_id: int, lot: str | None, from_run_id: int | None, mass_g: int | None
    ) -> None:
        """Keep that a run took chocolate of a bag, or else bars of another run."""
        row = {"lot": lot, "from_run_id": from_run_id, "mass_g": mass_g}
        self._enter(USES, run_id, "used_utc_ms", [row])

    def add_label(self, run_id: int, label: Mapping[str, Any]) -> None:
        """Keep a label: lot, name, best_before, contains, may_contain, net_mg."""
        self._enter(LABELS, run_id, "labelled_utc_ms", [_listed(label)])

    def bags(self, lots: Iterable[str] | None = None) -> list[BagRow]:
        """The last entry of every bag, or of those with these lots, as the bags came."""
        wanted = None if lots is None else {lot.casefold() for lot in lots}
        rows = [BagRow(**row) for row in self._lists(BAGS, lots=wanted)]
        return list({row.lot.casefold(): row for row in rows}.values())

    def uses(self, run_id: int | None = None) -> list[UseRow]:
        """What stands of one run, or of all, oldest first: the last entry of each source, 0 g
        left out."""
        rows = [UseRow(**row) for row in self._lists(USES, run_id)]
        last = {(row.run_id, (row.lot or "").casefold(), row.from_run_id): row for row in rows}
        return sorted((row for row in last.values() if row.mass_g != 0), key=lambda row: row.id)

    def sources_entered(self, run_id: int) -> tuple[list[UseRow], list[LabelRow]]:
        """Every entry about one run's sources and labels, those corrected since among them."""
        uses = [UseRow(**row) for row in self._lists(USES, run_id)]
        return uses, [LabelRow(**row) for row in self._lists(LABELS, run_id)]

    def labels(self, run_id: int | None = None) -> list[LabelRow]:
        """The last entry of every label, of one run or of all, by run and lot, oldest first."""
        rows = [LabelRow(**row) for row in self._lists(LABELS, run_id)]
        return list({(row.run_id, row.lot.casefold()): row for row in rows}.values())

    def _lists(
        self, table: Table, run_id: int | None = None, lots: Collection[str] | None = None
    ) -> list[dict[str, Any]]:
        wanted = select(table).order_by(table.c.id)
        if run_id is not None:
            wanted = wanted.where(table.c.run_id == run_id)
        with self._reading() as connection:
            found = connection.execute(wanted).mappings().all()
        return [
            {name: tuple(json.loads(v)) if name in _LISTS else v for name, v in row.items()}
            for row in found
            if lots is None or row["lot"].casefold() in lots
        ]


def _listed(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: json.dumps(list(value)) if name in _LISTS else value for name, value in row.items()
    }
