"""What can be read of a damaged record becomes a new one; the damaged one is set aside.

Three ways in, one after the other: SQLite's, table by table, past what it cannot read; the pages
by themselves, for rows to which nothing leads any more; and where the batch or the start of the
rig to which an entry belongs is lost, a stand-in for it, so that the entry is shown. Nothing is
guessed: a bit that fell over inside a value of the right kind cannot be seen by anybody.
"""

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import BinaryIO, NamedTuple

from snapgloss.base.errors import StoreError, VersionError
from snapgloss.base.textfiles import shown_path
from snapgloss.store import fresh_record
from snapgloss.store.aside import LOG, held, put_in_place
from snapgloss.store.copying import Counted, checked, sync_file
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.leaves import PAGE_BYTES, rows_of_pages
from snapgloss.store.migrations import REVISIONS
from snapgloss.store.past_damage import PastDamage
from snapgloss.store.sorting import Sorter
from snapgloss.store.tables import METADATA

MAGIC = b"SQLite format 3\0"
COPY_BYTES = 1 << 20
_MOST_TIMES = 20  # as long as the file is: a length beyond that is damage of the header
_PAGES_AT, _HEADER_BYTES = 28, 100


class Salvaged(NamedTuple):
    """What the new record holds, where the damaged one is, and what is known to be lost.

    `stretches`: places of tables that could not be read; `lost_readings`, `lost_events`: numbers
    that are missing between others of the same start of a rig, which the record now says, too.
    """

    counted: Counted
    set_aside: Path
    stretches: int
    lost_readings: int
    lost_events: int

    @property
    def words(self) -> str:
        """What was done, in sentences for a person."""
        told = (
            f"The record was damaged. It was set aside, and not deleted: {self.set_aside}. What "
            f"can be read of it is in a new record: {self.counted.words}."
        )
        lost = ""
        if self.lost_readings or self.lost_events:
            lost = (
                f" Between them {self.lost_readings:,} readings and {self.lost_events:,} events "
                "are lost; their batches say so."
            )
        return f"{told}{lost} A backup may hold more: snapgloss restore FILE."


def salvaged(folder: Path, now_utc_ms: Callable[[], int]) -> Salvaged:
    """Set a damaged record aside and put what can be read of it in its place.

    Raises StoreBusy when another program has it open, StoreError when the disk has no room for
    two more copies; the record stands as it stood then.
    """
    path = folder / FILE_NAME
    try:
        with TemporaryDirectory(prefix=".salvage-", dir=folder) as place, held(path) as file:
            old, new = Path(place) / "old.sqlite3", Path(place) / "new"
            _copy(file, path, old)
            draft = fresh_record.begun(new)
            found = _fill(old, draft, now_utc_ms())
            counted = checked(draft, thorough=True)
            sync_file(draft)
            kept = put_in_place(draft, path, "damaged")
            assert kept is not None
    except OSError as problem:
        raise StoreError(
            f"The record in {shown_path(path)} cannot be salvaged: {problem.strerror}.",
            "Make room for two more copies of it; nothing was changed.",
        ) from problem
    return Salvaged(counted, kept, *found)


def _copy(source: BinaryIO, path: Path, old: Path) -> None:
    """The file and its log, in a shape that SQLite opens; the original is not touched."""
    with old.open("xb") as file:
        shutil.copyfileobj(source, file, COPY_BYTES)
    log = path.with_name(path.name + LOG)
    if log.exists():
        shutil.copyfile(log, old.with_name(old.name + LOG))
    with old.open("r+b") as file:
        head, size = file.read(_HEADER_BYTES), old.stat().st_size
        file.truncate(size // PAGE_BYTES * PAGE_BYTES)  # half a page may hold half a row
        if not head.startswith(MAGIC):
            file.seek(0)
            file.write(fresh_record.header(size // PAGE_BYTES))
            return
        said = int.from_bytes(head[_PAGES_AT : _PAGES_AT + 4], "big") * PAGE_BYTES
        if size < said <= _MOST_TIMES * size:
            file.truncate(said)  # cut short: SQLite would not open it


def _fill(old: Path, draft: Path, now_utc_ms: int) -> tuple[int, int, int]:
    with closing(sqlite3.connect(draft, isolation_level=None)) as target:
        target.execute("BEGIN")
        sorter = Sorter(target)
        stretches = _by_tables(old, sorter)
        sorter.end()
        if stretches:
            sorter.only_unpacked()
            for table, row in rows_of_pages(old):
                sorter.take(METADATA.tables[table], None, row)
            sorter.end()
        sorter.stand_in(now_utc_ms)
        sorter.show_all()
        lost = sorter.say_lost() if stretches else (0, 0)
        target.execute("COMMIT")
    return stretches, *lost


def _by_tables(old: Path, sorter: Sorter) -> int:
    """Copy what SQLite can read; returns in how many places it could not, 1 for all of it."""
    stretches = 0
    with closing(sqlite3.connect(old, isolation_level=None)) as raw:
        raw.text_factory = lambda data: data.decode("utf-8", "replace")
        with suppress(sqlite3.DatabaseError):
            raw.execute("PRAGMA writable_schema = ON")  # a damaged entry of it hides no other
        stretches += _is_form_lost(raw)
        for table in METADATA.sorted_tables:
            try:
                columns = [row[1] for row in raw.execute(f'PRAGMA table_info("{table.name}")')]
            except sqlite3.DatabaseError:
                columns = []
            wanted = [column.name for column in table.columns if column.name in columns]
            if not wanted:
                continue
            reader = PastDamage(raw, table, wanted)
            for row in reader.rows():
                sorter.take(table, wanted, row)
            stretches += reader.stretches
        with suppress(sqlite3.DatabaseError):
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # for the pages, read by themselves
    return stretches


def _is_form_lost(raw: sqlite3.Connection) -> bool:
    """Whether it cannot be told which tables there were."""
    try:
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError:
        return True
    if row is not None and str(row[0]) > REVISIONS[-1] and str(row[0]).isdecimal():
        raise VersionError("The record was written by a newer snapgloss.", "Update snapgloss.")
    return row is None or row[0] not in REVISIONS
