"""The PostgreSQL side of a copy: what is there, and how lines get in."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple

import psycopg
from sqlalchemy import Engine, Table, Text

from snapgloss.base.errors import StoreError
from snapgloss.store.failures import store_error
from snapgloss.store.tables import METADATA, READINGS
from snapgloss.store.transfer_lines import server_line, server_sum

if TYPE_CHECKING:
    from psycopg.rows import TupleRow

PIECE = 5_000  # lines handed over at a time: the server takes them while the next are made
_LOCK = 0x636F7079  # of advisory locks: one copy at a time
_REFERENCE = "fk_readings_boot_id"

Key = tuple[Any, ...]


class Span(NamedTuple):
    """Rows whose key comes after `after` (empty: from the first) up to `last`, inclusive."""

    after: Key
    last: Key


@contextmanager
def place(engine: Engine, where: str) -> Iterator["Place"]:
    """Give the database to copy into. Raises StoreError: another copy is under way, and whatever
    the server says."""
    raw = engine.raw_connection()
    connection = raw.driver_connection
    assert isinstance(connection, psycopg.Connection)
    try:
        connection.autocommit = True
        found = Place(connection, where)
        found.lock()
        yield found
    except psycopg.Error as error:
        raise store_error(error, where) from error
    finally:
        raw.invalidate()  # with its lock
        raw.close()


class Place:
    """Every call is a transaction of its own, done when it returns."""

    def __init__(self, connection: "psycopg.Connection[TupleRow]", where: str) -> None:
        self._connection, self._where = connection, where

    def lock(self) -> None:
        """Keep other copies away until the connection ends."""
        if not self._one(f"SELECT pg_try_advisory_lock({_LOCK})")[0]:
            raise StoreError(
                f"Another copy into {self._where} is under way.", "Wait until it is done."
            )

    def sum(self, table: Table, span: Span | None = None) -> tuple[int, int]:
        """The number of rows and the sum of their lines; see transfer_lines."""
        count, total = self._one(f"SELECT {server_sum(table)} FROM {table.name}", table, span)
        return int(count), int(total)

    def lines(self, table: Table, span: Span) -> set[str]:
        """The lines that are summed."""
        sql = f"SELECT {server_line(table)} FROM {table.name}"
        return {row[0] for row in self._all(sql, table, span)}

    def rows(self, table: Table, names: Sequence[str], where: str = "true") -> set[Key]:
        """Some columns of every row, or of those for which `where` is so."""
        named = ", ".join(f'"{name}"' for name in names)
        return set(self._all(f"SELECT {named} FROM {table.name} WHERE {where}"))

    def take(self, table: Table, lines: Sequence[str]) -> int:
        """Add rows by their lines, all or none; give how many."""
        if lines:
            self._copy(table.name, lines)
        return len(lines)

    def take_over(self, table: Table, lines: Sequence[str]) -> None:
        """Add rows, or put them in the place of those with the same key, all or none."""
        keys = [column.name for column in table.primary_key]
        names = [column.name for column in table.columns]
        own = ", ".join(f'"{n}" = excluded."{n}"' for n in names if n not in keys)
        quoted = ", ".join(f'"{name}"' for name in keys)
        with self._connection.transaction():
            self._connection.execute(
                f"CREATE TEMP TABLE taken (LIKE {table.name}) ON COMMIT DROP"
            )  # fmt: skip
            self._copy("taken", lines)
            self._connection.execute(
                f"INSERT INTO {table.name} SELECT * FROM taken "
                f"ON CONFLICT ({quoted}) DO UPDATE SET {own}"
            )

    @contextmanager
    def filling(self, table: Table, is_empty: bool) -> Iterator[None]:
        """Fill a table. Whether each reading's boot is there is asked once at the end for all:
        asked for each it takes three times as long as the rest (measured). A copy that was
        killed lacks that reference, until one goes through."""
        if table is READINGS and is_empty:
            self._connection.execute(
                f"ALTER TABLE readings DROP CONSTRAINT IF EXISTS {_REFERENCE}"
            )
        yield
        if table is READINGS and not self._is_referred():
            self._connection.execute(
                f"ALTER TABLE readings ADD CONSTRAINT {_REFERENCE} "
                "FOREIGN KEY (boot_id) REFERENCES boots (id)"
            )

    def finish(self) -> None:
        """Let new rows be numbered after those that came, and the planner know them."""
        for table in METADATA.sorted_tables:
            if "id" in table.primary_key.columns:
                self._connection.execute(
                    f"SELECT setval(pg_get_serial_sequence('{table.name}', 'id'), "
                    f"(SELECT coalesce(max(id), 0) + 1 FROM {table.name}), false)"
                )
            self._connection.execute(f"ANALYZE {table.name}")

    def has_other_data(self, table: Table) -> StoreError:
        """What is said when a table there is not as it is here."""
        return StoreError(
            f"{self._where} has other data than this record, in its table {table.name}.",
            "Name an empty database, or one with an earlier copy of this record.",
        )

    def _is_referred(self) -> bool:
        found = self._one(
            f"SELECT count(*) FROM pg_constraint WHERE conname = '{_REFERENCE}' "
            "AND conrelid = 'readings'::regclass"
        )
        return bool(found[0])

    def _copy(self, name: str, lines: Sequence[str]) -> None:
        with self._connection.cursor().copy(f"COPY {name} FROM STDIN") as copy:
            for first in range(0, len(lines), PIECE):
                copy.write("\n".join([*lines[first : first + PIECE], ""]))

    def _one(self, sql: str, table: Table | None = None, span: Span | None = None) -> Key:
        return self._all(sql, table, span)[0]

    def _all(self, sql: str, table: Table | None = None, span: Span | None = None) -> list[Key]:
        values: list[Any] = []
        if table is not None and span is not None:
            sql += f" WHERE {_key(table)} <= ({_marks(span.last)})"
            values += span.last
            if span.after:
                sql += f" AND {_key(table)} > ({_marks(span.after)})"
                values += span.after
        return self._connection.execute(sql.encode(), values or None).fetchall()


def _key(table: Table) -> str:
    """The key as SQLite orders it: texts by their bytes, whatever the language of the server."""
    named = (
        f'"{column.name}" COLLATE "C"' if isinstance(column.type, Text) else f'"{column.name}"'
        for column in table.primary_key
    )  # fmt: skip
    return f"({', '.join(named)})"


def _marks(values: Key) -> str:
    return ", ".join(["%s"] * len(values))
