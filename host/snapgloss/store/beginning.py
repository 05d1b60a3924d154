"""The first moment of a record's file: it is there whole, or not at all."""

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory

from snapgloss.base import folders
from snapgloss.base.errors import StoreError

EMPTY = (
    "is empty: its file has 0 bytes",
    "Put back your last backup, or move that file away to begin a new record.",
)


def begin(path: Path) -> None:
    """Make the file where there is none, with its first page in it.

    Raises StoreError for an empty one: none was ever begun so, it has lost its content, and
    SQLite would take it, and the log beside it, for a new one.
    """
    if not path.exists():
        with suppress(OSError, sqlite3.Error):  # another was first, or the opening says it better
            _begin_whole(path)
    elif path.stat().st_size == 0:
        raise StoreError(f"The record in {path} {EMPTY[0]}.", EMPTY[1])


def _begin_whole(path: Path) -> None:
    with TemporaryDirectory(prefix=".begun-", dir=path.parent) as folder:
        draft = Path(folder) / path.name
        with closing(sqlite3.connect(draft)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
        os.link(draft, path)  # where it cannot be, SQLite makes the file in its place
    folders.sync(path.parent)


def has_log(path: Path) -> bool:
    """Whether a write-ahead log is left to be read.

    A reader of one needs its shared memory, which it cannot make in a read-only folder
    (sqlite.org/wal.html, "Read-Only Databases"). Only when there is none, so that nothing
    recorded is passed over, may the file be taken by itself, as one that nobody changes.
    """
    log = path.with_name(f"{path.name}-wal")
    return log.exists() and log.stat().st_size > 0
