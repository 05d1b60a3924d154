"""An empty record at head as one plain file, to be filled by itself."""

import sqlite3
from contextlib import closing
from pathlib import Path

from snapgloss.store.engine import FILE_NAME, make_engine
from snapgloss.store.migrate import to_head

HEADER_BYTES = 100


def begun(folder: Path) -> Path:
    """Make one in a folder, without a log; where it is."""
    engine = make_engine(folder)
    try:
        to_head(engine, str(folder))
    finally:
        engine.dispose()
    path = folder / FILE_NAME
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
    return path


def header(pages: int) -> bytes:
    """The first bytes of a file of so many pages of 4096 bytes, as SQLite writes them
    (sqlite.org/fileformat2.html, section 1.3): with a log, no free pages, text as UTF-8."""
    found = bytearray(HEADER_BYTES)
    found[:16] = b"SQLite format 3\0"
    found[16:24] = bytes((0x10, 0x00, 2, 2, 0, 64, 32, 32))
    for at, value in ((24, 1), (28, pages), (40, 1), (44, 4), (56, 1), (92, 1), (96, 3_040_000)):
        found[at : at + 4] = value.to_bytes(4, "big")
    return bytes(found)
