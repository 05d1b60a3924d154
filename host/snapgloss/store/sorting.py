"""Takes rows of a damaged record: those that make sense go into the new one, once each."""

import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Column, Table

from snapgloss.base.errors import StoreError
from snapgloss.base.records import STREAMS
from snapgloss.store.damage import kinds_of
from snapgloss.store.packing import count
from snapgloss.store.tables import BOOTS, EVENTS, METADATA, PACKED, READINGS, RUNS

AT_ONCE = 1000
WHY = "damaged in the record"
STAND_IN = "Its own entry was damaged and is lost; what else there was of it is kept."
_PYTHON = {"integer": int, "real": float, "text": str, "blob": bytes, "null": type(None)}
_TOLD = (READINGS, EVENTS)
_SPOILT = "\ufffd"


class Sorter:
    """Fills the new record over `target`, in a transaction that the caller ends."""

    def __init__(self, target: sqlite3.Connection) -> None:
        self._target = target
        self._waiting: list[tuple[Any, ...]] = []
        self._into = ""
        self._packed: list[tuple[int, int, int]] = []

    def take(self, table: Table, names: Sequence[str] | None, row: Sequence[Any]) -> None:
        """Keep a row whose values are of the kinds of their columns (all of them when `names` is
        None) and whose key is not there yet; leave out any other."""
        columns = [table.c[name] for name in names] if names else list(table.columns)
        if not all(map(_is_of, columns, row)) or self._is_nonsense(table, row):
            return
        into = _insert(table, columns)
        if into != self._into or len(self._waiting) >= AT_ONCE:
            self.end()
            self._into = into
        self._waiting.append(tuple(row))

    def end(self) -> None:
        """Write what waits."""
        if self._waiting:
            self._target.executemany(self._into, self._waiting)
        self._waiting = []

    def only_unpacked(self) -> None:
        """From now on readings that are in a packed block are left out: they were deleted once,
        and lie on in pages that are free."""
        asked = "SELECT boot_id, first_seq, last_seq FROM packed"
        self._packed = self._target.execute(asked).fetchall()

    def _is_nonsense(self, table: Table, row: Sequence[Any]) -> bool:
        if table in _TOLD and any(isinstance(v, str) and _SPOILT in v for v in row):
            return True
        if table is PACKED:
            return not _is_whole(row[-1])
        if table is READINGS and self._packed:
            return any(boot == row[0] and a <= row[1] <= b for boot, a, b in self._packed)
        return False

    def stand_in(self, now_utc_ms: int) -> None:
        """Make the runs and starts of a rig that entries belong to and that are lost."""
        for table in METADATA.sorted_tables:
            for key in table.foreign_keys:
                owner, name = key.column.table, key.parent.name
                asked = (
                    f'SELECT DISTINCT "{name}" FROM "{table.name}" WHERE "{name}" IS NOT NULL '
                    f'AND "{name}" NOT IN (SELECT id FROM "{owner.name}")'
                )
                for (number,) in self._target.execute(asked).fetchall():
                    self._stand_in(owner, number, now_utc_ms)

    def _stand_in(self, owner: Table, number: int | None, now_utc_ms: int) -> int:
        row: dict[str, Any]
        if owner is BOOTS:
            row = {"id": number, "board": "unknown", "boot_nonce": number, "firmware": "",
                   "simulated": 0, "first_seen_utc_ms": now_utc_ms}  # fmt: skip
        else:
            text = dict.fromkeys(("schedule_toml", "digest", "rig", "workshop"), "")
            low = {"mass_g": 0, "window_low_mc": 31_000, "window_high_mc": 32_000}
            row = {"id": number, "chocolate": "unknown", "type": "dark", "method": "seeded",
                   **text, **low, "work_mc": 31_500, "simulated": 0, "outcome": "unfinished",
                   "started_utc_ms": now_utc_ms, "ended_utc_ms": now_utc_ms,
                   "words": STAND_IN}  # fmt: skip
        columns = [owner.c[name] for name in row]
        made = self._target.execute(_insert(owner, columns), tuple(row.values()))
        return int(made.lastrowid or 0)

    def show_all(self) -> None:
        """Where it is lost which readings a run had, a stand-in shows those of each start of a rig
        that no run has."""
        missing = "SELECT 1 FROM runs WHERE id NOT IN (SELECT run_id FROM run_parts) LIMIT 1"
        if self._target.execute(missing).fetchone() is None:
            return
        unseen = (
            "SELECT id, first_seen_utc_ms, (SELECT max(at) FROM "
            "(SELECT max(at_ms) AS at FROM readings WHERE boot_id = boots.id UNION ALL "
            "SELECT max(last_at_ms) FROM packed WHERE boot_id = boots.id)) AS end FROM boots "
            "WHERE end IS NOT NULL AND id NOT IN (SELECT boot_id FROM run_parts)"
        )
        for boot, seen_utc_ms, end_ms in self._target.execute(unseen).fetchall():
            run = self._stand_in(RUNS, None, seen_utc_ms)
            part = (run, 0, boot, 0, end_ms, seen_utc_ms)
            self._target.execute("INSERT INTO run_parts VALUES (?, ?, ?, ?, ?, ?)", part)

    def say_lost(self) -> tuple[int, int]:
        """Enter numbers that are missing between others as lost; how many readings and events."""
        lost = []
        for stream in STREAMS:
            holes = list(self._holes(stream))
            rows = [(boot, stream, first, last, WHY) for boot, first, last in holes]
            self._target.executemany("INSERT OR IGNORE INTO gaps VALUES (?, ?, ?, ?, ?)", rows)
            lost.append(sum(last - first + 1 for _, first, last in holes))
        return lost[0], lost[1]

    def _holes(self, stream: str) -> Iterator[tuple[int, int, int]]:
        """Boot, first and last of each stretch that nothing accounts for."""
        parts = [
            f"SELECT boot_id, seq AS first, seq AS last FROM {stream} WHERE seq >= 0",
            f"SELECT boot_id, from_seq, to_seq FROM gaps WHERE stream = '{stream}'",
        ]
        if stream == "readings":
            parts.append("SELECT boot_id, first_seq, last_seq FROM packed")
        at_boot, newest = None, -1
        asked = " UNION ALL ".join(parts) + " ORDER BY boot_id, first"
        for boot, first, last in self._target.execute(asked):
            if boot == at_boot and first > newest + 1:
                yield boot, newest + 1, first - 1
            newest = max(newest, last) if boot == at_boot else last
            at_boot = boot


def _insert(table: Table, columns: Sequence[Column[Any]]) -> str:
    names = ", ".join(f'"{column.name}"' for column in columns)
    marks = ", ".join("?" * len(columns))
    return f'INSERT OR IGNORE INTO "{table.name}" ({names}) VALUES ({marks})'


def _is_of(column: Column[Any], value: object) -> bool:
    return any(type(value) is _PYTHON[kind] for kind in kinds_of(column))


def _is_whole(block: bytes) -> bool:
    try:
        return count(block) >= 0
    except StoreError:
        return False
