"""From what a database says to what a maker can do about it."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError

from snapgloss.base.errors import StoreBusy, StoreDamaged, StoreError
from snapgloss.store.damage import UNREADABLE
from snapgloss.store.room import lacks_room

READ_ONLY = (
    "is read-only",
    "Give yourself write permission on the folder, or choose another with --data.",
)
DAMAGED = (
    "is damaged",
    "Salvage it, which keeps what can be read and deletes nothing: snapgloss salvage. Or put back "
    "your last backup: snapgloss restore FILE.",
)
NO_ROOM = (
    "has no room left on its disk",
    "Free some space on that disk; the rig keeps its last readings meanwhile.",
)
# SQLite's own names of its result codes (sqlite.org/rescode.html), longest match first.
_SENTENCES = (
    (
        "SQLITE_BUSY",
        "is being written by another program and stayed locked",
        "Close the other snapgloss that uses this data folder, then try again.",
    ),
    (
        "SQLITE_LOCKED",
        "is being written by another program and stayed locked",
        "Close the other snapgloss that uses this data folder, then try again.",
    ),
    ("SQLITE_READONLY", *READ_ONLY),
    ("SQLITE_FULL", *NO_ROOM),
    (
        "SQLITE_CANTOPEN",
        "could not be opened",
        "Check that the folder exists and is yours, or choose another with --data.",
    ),
    (
        "SQLITE_NOTADB",
        "is not a snapgloss database",
        "Move that file away, or choose another folder with --data.",
    ),
    ("SQLITE_CORRUPT", *DAMAGED),
    (
        "SQLITE_IOERR",
        "could not be read or written: the disk reported a fault",
        "Check the disk and its cable, then try again; keep a copy of the folder first.",
    ),
)
_BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED")
# What SQLite says instead of "full" where it cannot make a file of its own, such as its shared
# memory: it does not tell why.
_PERHAPS_FULL = ("SQLITE_IOERR", "SQLITE_CANTOPEN")
_SERVER = (
    "does not answer",
    "Check that the database server runs, and its address, name and password.",
)
_OTHER = (
    "gave an error that snapgloss does not know",
    "Check the folder and its disk; if it happens again, report it with the words above.",
)


def store_error(error: Exception, where: str) -> StoreError:
    """The sentence for `error` at `where` (a path, or a URL without its password)."""
    cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
    name = getattr(cause, "sqlite_errorname", None) or ""
    if name.startswith(_PERHAPS_FULL) and _is_full(where):
        return StoreError(f"The record in {where} {NO_ROOM[0]}.", NO_ROOM[1])
    if str(cause).startswith(UNREADABLE):
        return damaged(where)
    for prefix, words, remedy in _SENTENCES:
        if name.startswith(prefix):
            return _kind(name)(f"The record in {where} {words}.", remedy)
    if isinstance(error, OperationalError) and not isinstance(cause, sqlite3.Error):
        return StoreBusy(f"The record in {where} {_SERVER[0]}.", _SERVER[1])
    first_line = (str(cause).splitlines() or [type(cause).__name__])[0]
    return StoreError(f"The record in {where} {_OTHER[0]}: {first_line}.", _OTHER[1])


def damaged(where: str) -> StoreDamaged:
    """The sentence for a record whose content cannot be what was written."""
    return StoreDamaged(f"The record in {where} {DAMAGED[0]}.", DAMAGED[1])


def _kind(name: str) -> type[StoreError]:
    if name.startswith("SQLITE_CORRUPT"):
        return StoreDamaged
    return StoreBusy if name.startswith(_BUSY) else StoreError


def _is_full(where: str) -> bool:
    return "://" not in where and lacks_room(Path(where).parent)


@contextmanager
def as_store_errors(where: str) -> Iterator[None]:
    """Turn whatever the database or its driver raises inside into a StoreError."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        raise store_error(error, where) from error
    except UnicodeDecodeError as error:  # damaged text comes up as this, from the driver itself
        raise damaged(where) from error
    except (NoSuchModuleError, ArgumentError, ImportError) as error:
        raise StoreError(
            f"No database can be reached by {where}.",
            "Check the address, and install its driver, such as: pip install 'psycopg[binary]'.",
        ) from error
