"""Records of earlier forms, kept as SQL in `kept/`: each has been there since its form was head.

    python tests/host/store/kept_forms.py

Writes the form that is head now, filled with invented entries, when it is not kept yet. One that
is kept is never made anew: it stands for the records that people have.
"""

import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from alembic import command
from sqlalchemy import create_engine

from snapgloss.base.records import Reading
from snapgloss.store import migrate
from snapgloss.store.migrations import HEAD
from snapgloss.store.packing import pack

FOLDER = Path(__file__).parent / "kept"
FIRST_UTC_MS = 1_790_000_000_000
WORDS: dict[str, Any] = {
    "outcome": "finished", "stream": "readings", "verdict": "sell", "place": "in",
    "state": "working", "kind": "step", "type": "dark", "method": "seeded",
    "best_before": "2097-06-30", "board": "bench", "role": "product", "from_run_id": None,
    "start_ms": 0, "end_ms": None, "part_no": 0,
}  # fmt: skip


def readings(count: int = 40) -> list[Reading]:
    """Some seconds in work, one without the chocolate's temperature."""
    return [
        Reading(n, n * 1000, "working", 5, 31_500, None if n == 7 else 31_400 + n, None, 21_000,
                120, 0, 500, 128)
        for n in range(count)
    ]  # fmt: skip


def rows_of(raw: sqlite3.Connection, table: str) -> Iterator[tuple[Any, ...]]:
    """Invented rows for any table: 40 of readings, 3 of what is numbered, 1 of others."""
    columns = [(row[1], row[2]) for row in raw.execute(f'PRAGMA table_info("{table}")')]
    if table == "readings":
        yield from ((1, *reading) for reading in readings())
        return
    if table == "packed":
        block = readings(20)
        yield (2, 0, 19, 0, 19_000, pack(block))
        return
    numbered = columns[0][0] == "id" or table in ("events", "figures")
    for number in range(1, 4 if numbered else 2):
        yield tuple(_value(name, kind, number) for name, kind in columns)


def _value(name: str, kind: str, number: int) -> Any:
    if name in WORDS:
        return WORDS[name]
    if name == "id" or name in ("seq", "boot_nonce"):
        return number
    if name in ("run_id", "boot_id"):
        return 1
    if name.endswith("_utc_ms"):
        return FIRST_UTC_MS + number * 1000
    if kind in ("TEXT", "VARCHAR(32)"):
        return f'{name} {number}, Quillby & Maar\'s "élan"'
    return {"FLOAT": number / 8, "BOOLEAN": number % 2}.get(kind, number)


def dump_of(revision: str) -> str:
    """A record of that form, made by the migrations up to it and filled, as SQL."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite3"
        engine = create_engine(f"sqlite:///{path}")
        with engine.connect() as connection, connection.begin():
            config = migrate.scripts_config()
            config.attributes["connection"] = connection
            command.upgrade(config, revision)
        engine.dispose()
        with closing(sqlite3.connect(path)) as raw, raw:
            names = [row[0] for row in raw.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY rootpage"
            )]  # fmt: skip
            for name in names:
                if name == "alembic_version":
                    continue
                for row in list(rows_of(raw, name)):
                    marks = ",".join("?" * len(row))
                    raw.execute(f'INSERT INTO "{name}" VALUES ({marks})', row)
            return "\n".join(raw.iterdump()) + "\n"


def main() -> int:
    """Keep the form that is head now; 1 when it is kept already."""
    path = FOLDER / f"{HEAD}.sql"
    if path.exists():
        return 1
    path.write_text(dump_of(HEAD), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
