"""Whether a record is damaged, looked for only when its content made no sense to somebody."""

import sqlite3
from typing import Any

from sqlalchemy import Column, Connection, Float, Integer, LargeBinary, Table, Text

from snapgloss.store.tables import METADATA

UNREADABLE = "Could not decode to UTF-8"
"""Begins what Python's driver says of damaged text; it has no code of SQLite's."""
_HELD = (
    (Integer, ("integer",)),
    (Float, ("real", "integer")),
    (Text, ("text",)),
    (LargeBinary, ("blob",)),
)


def is_damaged(connection: Connection) -> bool:
    """True when SQLite's own check fails, or a value is of a kind that is never written there.

    Reads the whole record. False for any other database, which guards its columns by itself.
    """
    if connection.dialect.name != "sqlite":
        return False
    raw = connection.connection.driver_connection
    assert isinstance(raw, sqlite3.Connection)
    try:
        return raw.execute("PRAGMA quick_check(1)").fetchone() != ("ok",) or wrong_kinds(raw)
    except sqlite3.DatabaseError:
        return True


def wrong_kinds(raw: sqlite3.Connection) -> bool:
    """Whether any value is of a kind that is never written in its column; what an older form has
    not is passed over."""
    return any(_holds_another_kind(raw, table) for table in METADATA.sorted_tables)


def _holds_another_kind(raw: sqlite3.Connection, table: Table) -> bool:
    there = {row[1] for row in raw.execute(f'PRAGMA table_info("{table.name}")')}
    wrong = " OR ".join(_wrong(column) for column in table.columns if column.name in there)
    if not wrong:
        return False
    asked = f'SELECT EXISTS (SELECT 1 FROM "{table.name}" WHERE {wrong})'
    return bool(raw.execute(asked).fetchone()[0])


def kinds_of(column: Column[Any]) -> tuple[str, ...]:
    """SQLite's names of the kinds that a column may hold."""
    kinds = next((held for kind, held in _HELD if isinstance(column.type, kind)), ("integer",))
    return (*kinds, *(["null"] if column.nullable else []))


def _wrong(column: Column[Any]) -> str:
    allowed = ", ".join(f"'{kind}'" for kind in kinds_of(column))
    return f'typeof("{column.name}") NOT IN ({allowed})'
