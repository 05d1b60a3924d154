"""A record that is open: its database, its clock, and transactions on it."""

import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Table, insert, select

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.store.copying import Counted, checked_in, copied
from snapgloss.store.damage import is_damaged
from snapgloss.store.engine import be_alone, name_of, reads
from snapgloss.store.failures import as_store_errors, damaged
from snapgloss.store.opening import opened
from snapgloss.store.rows import RunRow
from snapgloss.store.tables import RUNS

MIGRATED = (
    "The record is from an older snapgloss and was brought up to date. As it was before, it is "
    "kept in {kept}."
)


def _now_utc_ms() -> int:
    return time.time_ns() // 1_000_000


def _may_be_damage(fault: BaseException | None) -> bool:
    """A value of a kind that is never written makes no sense to whoever reckons with it."""
    kinds = (TypeError, ValueError, AttributeError, LookupError, ArithmeticError)
    return isinstance(fault, kinds) and not isinstance(fault, SnapglossError)


class OpenRecord:
    """The ground that every part of the store stands on; see snapgloss.store.open_store."""

    def __init__(
        self,
        data_dir_or_url: str | Path,
        clock_utc_ms: Callable[[], int] | None = None,
        to_read: bool = False,
    ) -> None:
        self._clock_utc_ms = clock_utc_ms or _now_utc_ms
        self._held = threading.local()
        self.address = data_dir_or_url
        """Where another process finds it; a URL with its password, so not for messages."""
        with as_store_errors("the address given"):
            self.where = name_of(data_dir_or_url)
        self.told: list[str] = []
        """What was done to the record on opening, in sentences for a person."""
        with as_store_errors(self.where):
            self._engine, kept = opened(data_dir_or_url, self.where, to_read)
        if kept:
            self.told.append(MIGRATED.format(kept=kept))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, _kind: object, fault: BaseException | None, _trace: object) -> None:
        """Let go; a fault for which the content itself is to blame becomes a StoreError."""
        try:
            if _may_be_damage(fault) and self._is_damaged():
                raise damaged(self.where) from fault
        finally:
            self.close()

    def _is_damaged(self) -> bool:
        with self._reading() as connection:
            return is_damaged(connection)

    def copy_to(self, target: Path) -> Counted:
        """Copy the record as it is now into a new file, checked; whoever writes it goes on.

        Raises InputError when the file is there already, or the record is no file, StoreError
        when it cannot be written or the record is damaged.
        """
        with self._file() as raw:
            return copied(raw, target, self.where)

    def checked(self) -> Counted:
        """Read the record from end to end and count what is in it; see `copying.checked`."""
        with self._file() as raw:
            return checked_in(raw, self.where, thorough=True)

    @contextmanager
    def _file(self) -> Iterator[sqlite3.Connection]:
        if self._engine.dialect.name != "sqlite":
            raise InputError(
                f"{self.where} is no file.", "Its server has a program of its own for backups."
            )
        with as_store_errors(self.where), self._engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert isinstance(raw, sqlite3.Connection)
            yield raw

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """What this thread reads inside is of one state of the record, over one connection."""
        with self._reading() as connection:
            before = getattr(self._held, "connection", None)
            self._held.connection = connection
            try:
                yield
            finally:
                self._held.connection = before

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        held: Connection | None = getattr(self._held, "connection", None)
        if held is not None:
            yield held
            return
        with (
            as_store_errors(self.where),
            self._engine.connect().execution_options(**reads(self._engine)) as connection,
        ):
            yield connection

    @contextmanager
    def _writing(self, beside: bool = False) -> Iterator[Connection]:
        """A transaction that is alone; `beside` others where the keys alone decide what is new."""
        with (
            as_store_errors(self.where),
            self._engine.connect().execution_options(writes=True) as connection,
            connection.begin(),
        ):
            if not beside:
                be_alone(connection)
            yield connection

    def run(self, run_id: int) -> RunRow:
        """One run. Raises InputError when there is none of that number."""
        with self._reading() as connection:
            row = connection.execute(select(RUNS).where(RUNS.c.id == run_id)).first()
        if row is None:
            raise InputError(
                f"There is no run {run_id} in {self.where}.",
                "List the runs there are: snapgloss runs.",
            )
        return RunRow(*row)

    def _enter(
        self, table: Table, run_id: int, when: str, rows: Sequence[Mapping[str, Any]]
    ) -> None:
        """Add entries about a run, with the time of entering in the column `when`."""
        self.run(run_id)
        now_utc_ms = self._clock_utc_ms()
        kept = [{"run_id": run_id, when: now_utc_ms, **row} for row in rows]
        with self._writing() as connection:
            connection.execute(insert(table), kept)

    def _entered(self, table: Table, run_id: int | None) -> list[Any]:
        """The entries about one run, or about all, oldest first."""
        wanted = select(table).order_by(table.c.id)
        if run_id is not None:
            wanted = wanted.where(table.c.run_id == run_id)
        with self._reading() as connection:
            return list(connection.execute(wanted).all())
