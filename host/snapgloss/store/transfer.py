"""Copy a record from its SQLite file into a PostgreSQL database, and verify every table there.

Rows go in by the order of their keys, some ten thousand to a transaction, so that a copy which was
broken off is continued: what is there already must be what is here, or it is refused. Only what a
record itself writes over (runs, their parts, figures) is taken anew.
"""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import Connection, Table

from snapgloss.base.errors import InputError
from snapgloss.store.failures import as_store_errors
from snapgloss.store.tables import BAGS, BOOTS, FIGURES, METADATA, RUN_PARTS, RUNS
from snapgloss.store.transfer_lines import NO_NUL, has_floats, sqlite_line, sum_of, teach_floats

if TYPE_CHECKING:
    from snapgloss.store.store import Store
    from snapgloss.store.transfer_place import Place, Span

ROWS = 50_000  # of one transaction
_ROOTS = (BOOTS, RUNS, BAGS)
"""What all other tables hang on: looked at before anything is written."""
_WRITTEN_OVER = (RUNS, RUN_PARTS, FIGURES)
_ENDS = ("ended_utc_ms", "outcome", "words")
"""What is written over in a run."""

Tell = Callable[[str, int, int], None]
"""Told the name of a table, how many of its rows are done, and how many there are."""


class Copied(NamedTuple):
    """One table: its rows on both sides, how many of them came now, and the sum of both."""

    table: str
    rows: int
    added: int
    check_sum: str


class _Chunk(NamedTuple):
    """Rows that follow one another, each as two lines, and where they lie."""

    to_copy: Sequence[str]
    to_sum: Sequence[str]
    span: "Span"


def copy_record(source: "Store", target: "Store", tell: Tell) -> list[Copied]:
    """Copy what `target` does not have yet, and verify number and sum of each table's rows.

    The source is an SQLite file, read as it stands at this moment; the target is a PostgreSQL
    database that is empty, or has an earlier copy of this record and nothing else. Raises
    InputError for other ones, StoreError when the target has other data or the server fails.
    """
    kinds = source._engine.dialect.name, target._engine.dialect.name
    if kinds != ("sqlite", "postgresql"):
        raise InputError(
            "A copy goes from the record in a data folder to a PostgreSQL database.",
            "Name the database like postgresql://NAME@SERVER/DATABASE.",
        )
    from snapgloss.store.transfer_place import place

    with (
        as_store_errors(source.where),
        source._engine.connect() as connection,
        connection.begin(),
        place(target._engine, target.where) as there,
    ):
        copied = _Copying(connection, there, tell).run()
        there.finish()
    return copied


class _Copying:
    def __init__(self, source: Connection, there: "Place", tell: Tell) -> None:
        self._there, self._tell = there, tell
        raw = source.connection.driver_connection
        assert raw is not None
        teach_floats(raw)
        self._here = raw.cursor()

    def run(self) -> list[Copied]:
        for table in _ROOTS:
            self._refuse_others(table)
        return [self._copy(table) for table in METADATA.sorted_tables]

    def _copy(self, table: Table) -> Copied:
        before, _sum = self._there.sum(table)
        total = int(self._here.execute(f"SELECT count(*) FROM {table.name}").fetchone()[0])
        with self._there.filling(table, is_empty=before == 0):
            check_sum = self._fill(table, before == 0, total)
        if self._there.sum(table) != (total, check_sum):
            raise self._there.has_other_data(table)
        return Copied(table.name, total, total - before, f"{check_sum:x}")

    def _fill(self, table: Table, is_empty: bool, total: int) -> int:
        """Add what is not there; give the sum of all that is here. While the server takes some
        rows the next are read."""
        check_sum = done = 0
        with ThreadPoolExecutor(1) as server:
            under_way: Future[None] | None = None
            for chunk in self._chunks(table):
                own_sum = sum_of(chunk.to_sum)
                if under_way is not None:
                    under_way.result()
                    self._tell(table.name, done, total)
                add = self._take if is_empty else self._add
                under_way = server.submit(add, table, chunk, own_sum)
                check_sum += own_sum
                done += len(chunk.to_sum)
            if under_way is not None:
                under_way.result()
                self._tell(table.name, done, total)
        return check_sum

    def _take(self, table: Table, chunk: _Chunk, _own_sum: int) -> None:
        self._there.take(table, chunk.to_copy)

    def _add(self, table: Table, chunk: _Chunk, own_sum: int) -> None:
        count, there_sum = self._there.sum(table, chunk.span)
        if (count, there_sum) == (len(chunk.to_sum), own_sum):
            return
        if table in _WRITTEN_OVER:
            self._there.take_over(table, chunk.to_copy)
            return
        there = self._there.lines(table, chunk.span) if count else set()
        pairs = zip(chunk.to_copy, chunk.to_sum, strict=True)
        missing = [line for line, summed in pairs if summed not in there]
        if len(chunk.to_copy) - len(missing) != count:
            raise self._there.has_other_data(table)
        self._there.take(table, missing)

    def _refuse_others(self, table: Table) -> None:
        """All that is there must be here, too, and no run may have ended there alone."""
        names = [c.name for c in table.columns if c.name not in (_ENDS if table is RUNS else ())]
        wanted = [(names, "true")]
        if table is RUNS:
            wanted.append((["id"], "ended_utc_ms IS NOT NULL"))
        for columns, where in wanted:
            there = self._there.rows(table, columns, where)
            if not there:
                continue
            named = ", ".join(f'"{name}"' for name in columns)
            here = self._here.execute(f"SELECT {named} FROM {table.name} WHERE {where}")
            if not there <= {tuple(map(_kept, row)) for row in here}:
                raise self._there.has_other_data(table)

    def _chunks(self, table: Table) -> Iterator[_Chunk]:
        from snapgloss.store.transfer_place import Span

        keys = [f'"{column.name}"' for column in table.primary_key]
        lines = [sqlite_line(table, to_sum=True)]
        if has_floats(table):
            lines.append(sqlite_line(table, to_sum=False))
        wanted = f"SELECT {', '.join(lines + keys)} FROM {table.name} ORDER BY {', '.join(keys)}"
        self._here.execute(wanted)
        after: tuple[Any, ...] = ()
        while rows := self._here.fetchmany(ROWS):
            last = tuple(rows[-1][len(lines) :])
            columns = list(zip(*rows, strict=True))
            to_sum, to_copy = _plain(columns[0]), _plain(columns[len(lines) - 1])
            yield _Chunk(to_copy, to_sum, Span(after, last))
            after = last


def _kept(value: Any) -> Any:
    return value.replace("\0", NO_NUL) if isinstance(value, str) else value


def _plain(lines: Sequence[str]) -> Sequence[str]:
    """The lines without the character that no server keeps."""
    if not any("\0" in line for line in lines):
        return lines
    return [line.replace("\0", NO_NUL) for line in lines]
