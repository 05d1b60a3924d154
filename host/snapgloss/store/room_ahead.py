"""Room for the write-ahead log, taken before it is needed.

A commit that makes its file longer waits for the file system's own journal as well: on the disk
it was measured on, appending 12 KB for good took 4.3 to 5.2 ms, the same over bytes that were
there already 1.9 ms (medians of 300). SQLite writes its log from the beginning again after every
checkpoint, so what is longer once stays so, until the last program that uses the record ends.
"""

import contextlib
import os
from pathlib import Path

from sqlalchemy import Connection

LOG_BYTES = 1040 * 4120 + 32
"""A checkpoint comes after 1,000 pages (SQLite's own figure); a frame is 4,120 bytes."""


def take_room(connection: Connection) -> None:
    """Make the log of an SQLite file as long as it will be; nothing for another database.

    Call it in a transaction that writes: nobody else may write to the log meanwhile. It waits for
    4 MB to be on the disk, so call it before a rig speaks every second, not while. SQLite reads
    a log up to the first frame that is not its own, and zeros are none. Without room on the disk
    the log stays as long as it was.
    """
    if connection.dialect.name != "sqlite":
        return
    database = connection.engine.url.database
    log = Path(f"{database}-wal")
    with contextlib.suppress(OSError):
        length = log.stat().st_size
        if length < LOG_BYTES:
            _fill(log, length)


def _fill(log: Path, length: int) -> None:
    with log.open("r+b", buffering=0) as file:
        try:
            file.seek(length)
            _write_all(file.fileno(), b"\0" * (LOG_BYTES - length))
            os.fsync(file.fileno())
        except OSError:
            file.truncate(length)
            raise


def _write_all(handle: int, content: bytes) -> None:
    while content:
        content = content[os.write(handle, content) :]
