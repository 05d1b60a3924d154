"""Put another file in the place of a record; the one that stood there is set aside, never deleted.

At every moment the record stands under its own name or under that of the one set aside, whole:
it gets its second name first, and the new one takes its place by one rename.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from snapgloss.base import folders
from snapgloss.base.errors import StoreBusy, StoreError
from snapgloss.base.textfiles import shown_path

LOG, MEMORY = "-wal", "-shm"
HELD = (
    "is in use by another program",
    "Close the other snapgloss that uses this data folder, then try again.",
)


def beside(path: Path, what: str, now: datetime | None = None) -> Path:
    """A name beside a record that nothing has yet: `snapgloss-WHAT-20261201-072501.sqlite3`."""
    moment = f"{now or datetime.now():%Y%m%d-%H%M%S}"
    names = (
        f"{path.stem}-{what}-{moment}{n}{path.suffix}"
        for n in ("", *map("-{}".format, range(2, 99)))
    )
    return next(one for name in names if not (one := path.with_name(name)).exists())


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Nobody else has the record open inside, and its log is in it; a damaged one is as it was.

    Raises StoreBusy when another program has it.
    """
    if not path.exists():
        yield
        return
    with closing(sqlite3.connect(path, timeout=1, isolation_level=None)) as raw:
        try:
            raw.execute("PRAGMA locking_mode = EXCLUSIVE")
            # Out of the log, whose name SQLite would take away when it closes the record.
            raw.execute("PRAGMA journal_mode = DELETE").fetchone()
            raw.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as fault:
            if str(getattr(fault, "sqlite_errorname", "")).startswith(
                ("SQLITE_BUSY", "SQLITE_LOCKED")
            ):
                raise StoreBusy(f"The record in {shown_path(path)} {HELD[0]}.", HELD[1]) from fault
        yield


def put_in_place(draft: Path, path: Path, what: str = "set-aside") -> Path | None:
    """Make `draft`, which is on the disk for good, the record at `path`; give the name that the
    one before has now, None where there was none. Call it inside `held`.

    Raises StoreError when the disk refuses; the record stands where it stood then.
    """
    try:
        kept = _named_twice(path, beside(path, what)) if path.exists() else None
        for end in (LOG, MEMORY):
            with suppress(FileNotFoundError):
                path.with_name(path.name + end).unlink()
        draft.replace(path)
        folders.sync(path.parent)
    except OSError as problem:
        raise StoreError(
            f"The record in {shown_path(path)} cannot be set aside: {problem.strerror}.",
            "Check the folder and its disk; nothing was deleted.",
        ) from problem
    return kept


def _named_twice(path: Path, kept: Path) -> Path:
    """Its log gets a second name, too: it holds what is not in the file yet."""
    for end in (LOG, ""):
        old, new = path.with_name(path.name + end), kept.with_name(kept.name + end)
        if not old.exists():
            continue
        try:
            os.link(old, new)
        except OSError:  # a disk without second names
            old.rename(new)
    folders.sync(path.parent)
    return kept
