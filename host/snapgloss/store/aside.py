"""Put another file in the place of a record; the one that stood there is set aside, never deleted.

At every moment the record stands under its own name or under that of the one set aside, whole:
it gets its second name first, and the new one takes its place by one rename.
"""

import os
import struct
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from snapgloss.base import folders
from snapgloss.base.errors import StoreBusy, StoreError
from snapgloss.base.textfiles import shown_path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

_LOCKS_AT, _LOCKS_BYTES = 0x40000000, 512
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
def held(path: Path) -> Iterator[BinaryIO]:
    """No other program has the record open inside, nor can open it; gives its file, to be read.

    By a lock over those that SQLite sets for as long as it has a record open
    (sqlite.org/lockingv3.html; offsets in its pager.h), so nothing is written by it. Raises
    StoreBusy when another program has the record open.
    """
    with path.open("r+b") as file:
        try:
            _lock(file.fileno())
        except BlockingIOError as fault:
            raise StoreBusy(f"The record in {shown_path(path)} {HELD[0]}.", HELD[1]) from fault
        yield file


def _lock(handle: int) -> None:
    """Of this open file where the system can, for other threads, too, and to outlive it when the
    file is opened and closed elsewhere in this program. Windows has no such call: nothing there.
    """
    if fcntl is None:
        return
    if hasattr(fcntl, "F_OFD_SETLK"):
        lock = struct.pack("hhqqi0q", fcntl.F_WRLCK, os.SEEK_SET, _LOCKS_AT, _LOCKS_BYTES, 0)
        fcntl.fcntl(handle, fcntl.F_OFD_SETLK, lock)
    else:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, _LOCKS_BYTES, _LOCKS_AT)


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
