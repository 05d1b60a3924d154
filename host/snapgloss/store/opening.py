"""Open a record to write it, or only to read one that may not be written."""

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool, Pool, StaticPool

from snapgloss.base.errors import StoreError
from snapgloss.store.beginning import has_log
from snapgloss.store.engine import BUSY_TIMEOUT_MS, FILE_NAME, make_engine
from snapgloss.store.failures import READ_ONLY
from snapgloss.store.migrate import to_head
from snapgloss.store.room import lacks_room

READS_ONLY = "PRAGMA query_only = ON"


def opened(data_dir_or_url: str | Path, where: str, to_read: bool) -> tuple[Engine, Path | None]:
    """Return an engine on a record at head, and where the record is kept as it was when it had to
    be migrated; `to_read`: one that may not be written will do, and one on a full disk.

    Raises StoreError, and whatever else the database raises.
    """
    try:
        return _at_head(make_engine(data_dir_or_url), where)
    except (DBAPIError, sqlite3.Error) as fault:
        path = Path(str(data_dir_or_url)) / FILE_NAME
        if "://" in str(data_dir_or_url) or not path.is_file():
            raise
        if _is_read_only(path):
            refused = StoreError(f"The record in {where} {READ_ONLY[0]}.", READ_ONLY[1])
            return _read_all_the_same(_reader, path, where, to_read, refused)
        if not lacks_room(path.parent):
            raise
        return _read_all_the_same(_reader_on_full_disk, path, where, to_read, fault)


def _read_all_the_same(
    reader: Callable[[Path], Engine], path: Path, where: str, to_read: bool, refused: Exception
) -> tuple[Engine, Path | None]:
    if not to_read:
        raise refused
    try:
        return _at_head(reader(path), where)
    except (DBAPIError, sqlite3.Error) as fault:
        raise refused from fault


def _at_head(engine: Engine, where: str) -> tuple[Engine, Path | None]:
    try:
        return engine, to_head(engine, where)
    except BaseException:
        engine.dispose()
        raise


def _is_read_only(path: Path) -> bool:
    """A file that may be read, while it or its folder may not be written."""
    writable = _may(path, os.W_OK) and _may(path.parent, os.W_OK)
    return path.is_file() and _may(path, os.R_OK) and not writable


def _may(path: Path, mode: int) -> bool:
    return os.access(path, mode, effective_ids=os.access in os.supports_effective_ids)


def _reader(path: Path) -> Engine:
    return _set_up(path, "mode=ro" if has_log(path) else "immutable=1", NullPool)


def _reader_on_full_disk(path: Path) -> Engine:
    """With a log to be read SQLite needs shared memory, for which there is no room. Alone with
    the record it keeps that in its own (sqlite.org/wal.html, "Use of WAL Without Shared-Memory").
    """
    if not has_log(path):
        return _reader(path)
    return _set_up(path, "mode=rw", StaticPool, "PRAGMA locking_mode = EXCLUSIVE")


def _set_up(path: Path, how: str, pool: type[Pool], *pragmas: str) -> Engine:
    uri = f"file:{quote(str(path.resolve()))}?{how}"
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(uri, uri=True, check_same_thread=False),
        poolclass=pool,
    )

    @event.listens_for(engine, "connect")
    def _connected(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None
        for pragma in (f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}", *pragmas, READS_ONLY):
            connection.execute(pragma)

    return engine
