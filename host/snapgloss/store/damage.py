"""Whether a record is damaged, looked for only when its content made no sense to somebody."""

import sqlite3

from sqlalchemy import Column, Connection, Float, Integer, LargeBinary, Table, Text, text
from sqlalchemy.exc import DBAPIError

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
    try:
        found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
        return found != "ok" or any(
            _holds_another_kind(connection, table) for table in METADATA.sorted_tables
        )
    except (DBAPIError, sqlite3.DatabaseError):
        return True


def _holds_another_kind(connection: Connection, table: Table) -> bool:
    wrong = " OR ".join(filter(None, (_wrong(column) for column in table.columns)))
    wanted = text(f'SELECT EXISTS (SELECT 1 FROM "{table.name}" WHERE {wrong})')
    return bool(connection.execute(wanted).scalar())


def _wrong(column: Column[object]) -> str:
    kinds = next((held for kind, held in _HELD if isinstance(column.type, kind)), ("integer",))
    allowed = ", ".join(f"'{kind}'" for kind in (*kinds, *(["null"] if column.nullable else [])))
    return f'typeof("{column.name}") NOT IN ({allowed})'
