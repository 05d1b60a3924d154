"""Open a record to write it, or only to read one that may not be written."""

import os
import sqlite3
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from snapgloss.base.errors import StoreError
from snapgloss.store.engine import BUSY_TIMEOUT_MS, FILE_NAME, make_engine
from snapgloss.store.failures import READ_ONLY
from snapgloss.store.migrate import to_head


def opened(data_dir_or_url: str | Path, where: str, to_read: bool) -> Engine:
    """Return an engine on a record at head; `to_read`: one that may not be written will do.

    Raises StoreError, and whatever else the database raises.
    """
    try:
        return _at_head(make_engine(data_dir_or_url), where)
    except (DBAPIError, sqlite3.Error) as fault:
        path = Path(str(data_dir_or_url)) / FILE_NAME
        if "://" in str(data_dir_or_url) or not _is_read_only(path):
            raise
        refused = StoreError(f"The record in {where} {READ_ONLY[0]}.", READ_ONLY[1])
        if not to_read:
            raise refused from fault
    try:
        return _at_head(_reader(path), where)
    except (DBAPIError, sqlite3.Error) as fault:
        raise refused from fault


def _at_head(engine: Engine, where: str) -> Engine:
    try:
        to_head(engine, where)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _is_read_only(path: Path) -> bool:
    """A file that may be read, while it or its folder may not be written."""
    writable = _may(path, os.W_OK) and _may(path.parent, os.W_OK)
    return path.is_file() and _may(path, os.R_OK) and not writable


def _may(path: Path, mode: int) -> bool:
    return os.access(path, mode, effective_ids=os.access in os.supports_effective_ids)


def _reader(path: Path) -> Engine:
    uri = f"file:{quote(str(path.resolve()))}?{_how(path)}"
    engine = create_engine(
        "sqlite://", creator=lambda: sqlite3.connect(uri, uri=True), poolclass=NullPool
    )

    @event.listens_for(engine, "connect")
    def _set_up(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")

    return engine


def _how(path: Path) -> str:
    """As a reader beside a writer where that can be; else as a file that nobody changes.

    A reader of a write-ahead log needs its shared memory, which it cannot make in a read-only
    folder (sqlite.org/wal.html, "Read-Only Databases"). Only when no log is left to be read,
    so that nothing recorded is passed over, is the file taken by itself.
    """
    log = path.with_name(f"{path.name}-wal")
    return "mode=ro" if log.exists() and log.stat().st_size else "immutable=1"
