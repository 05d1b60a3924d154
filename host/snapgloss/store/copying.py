"""A copy of a record while it is written, and whether a file holds a whole one.

SQLite's backup copies all pages in one step, within one snapshot: with a write-ahead log a writer
goes on meanwhile and never makes it begin again, as steps of some pages would.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from snapgloss.base import folders
from snapgloss.base.errors import InputError, StoreDamaged, StoreError, VersionError
from snapgloss.base.textfiles import shown_path
from snapgloss.store.beginning import has_log
from snapgloss.store.damage import wrong_kinds
from snapgloss.store.failures import as_store_errors, damaged
from snapgloss.store.migrations import REVISIONS
from snapgloss.store.packing import count

_NAMES = {"runs": ("batch", "batches")}
ROWS = ("runs", "events", "notes", "grades")
_AT_ONCE = ("PRAGMA journal_mode = OFF", "PRAGMA synchronous = OFF")  # it is synced as a whole


class Counted(NamedTuple):
    """What a record holds; `form` is the revision of its tables."""

    form: str
    runs: int
    readings: int
    events: int
    notes: int
    grades: int

    @property
    def words(self) -> str:
        """What is in it: `3 batches, 7,160 readings, 1 event, 1 note, 0 grades`."""
        parts = []
        for name, many in list(self._asdict().items())[1:]:
            one, several = _NAMES.get(name, (name[:-1], name))
            parts.append(f"{many:,} {one if many == 1 else several}")
        return ", ".join(parts)


def copied(source: sqlite3.Connection, target: Path, where: str) -> Counted:
    """Copy what `source` sees now into a new file, checked and on the disk when this returns.

    It is there whole or not at all, as one file without a log. Raises InputError when `target` is
    there already, StoreError when it cannot be written, StoreDamaged when the record at `where`
    is not sound.
    """
    if target.exists():
        raise InputError(
            f"{shown_path(target)} is there already.",
            "Name another file; nothing is written over.",
        )
    try:
        folders.make(target.parent)
        with TemporaryDirectory(prefix=".copy-", dir=target.parent) as folder:
            draft = Path(folder) / target.name
            _write(source, draft)
            counted = _checked_draft(draft, where)
            sync_file(draft)
            _name(draft, target)
        folders.sync(target.parent)
    except OSError as problem:
        raise StoreError(
            f"{shown_path(target)} cannot be written: {problem.strerror or problem}.",
            "Make room, or name another folder.",
        ) from problem
    return counted


def _write(source: sqlite3.Connection, draft: Path) -> None:
    with (
        as_store_errors(str(draft)),
        closing(sqlite3.connect(draft, isolation_level=None)) as copy,
    ):
        for pragma in _AT_ONCE:
            copy.execute(pragma)
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, which can be read anywhere


def _checked_draft(draft: Path, where: str) -> Counted:
    try:
        return checked(draft)
    except StoreDamaged as fault:  # it is the copy of a damaged one
        raise damaged(where) from fault


def _name(draft: Path, target: Path) -> None:
    """Without writing over a file that came meanwhile, where the disk can make a second name."""
    try:
        os.link(draft, target)
    except FileExistsError:
        raise
    except OSError:  # such as on a stick
        draft.rename(target)


def sync_file(path: Path) -> None:
    """Put what a file holds on the disk for good."""
    with path.open("r+b") as file:
        os.fsync(file.fileno())


def checked(path: Path, thorough: bool = False) -> Counted:
    """Read a file that nobody writes, all of it, and count what is in it.

    SQLite's integrity_check, every block of packed readings, and with `thorough` the kind of every
    value and whether each row belongs to one that is there. Raises StoreError for one that is
    damaged or no record, VersionError for one of a newer snapgloss.
    """
    try:
        with reading_file(path) as raw:
            return checked_in(raw, shown_path(path), thorough)
    except StoreDamaged as fault:
        raise StoreDamaged(f"{shown_path(path)} is damaged.", "Take another backup.") from fault


@contextmanager
def reading_file(path: Path) -> Iterator[sqlite3.Connection]:
    """A record's file that nobody writes, with the log beside it if there is one.

    Raises InputError when there is none, StoreError for what SQLite says inside.
    """
    if not path.is_file():
        raise InputError(f"There is no file {shown_path(path)}.", "Name a backup.")
    how = "mode=ro" if has_log(path) else "immutable=1"
    with (
        as_store_errors(shown_path(path)),
        closing(sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True)) as raw,
    ):
        yield raw


def checked_in(raw: sqlite3.Connection, where: str, thorough: bool = False) -> Counted:
    """The same of a record that is open."""
    form = _form(raw, where)
    if raw.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
        raise damaged(where)
    if thorough and (wrong_kinds(raw) or raw.execute("PRAGMA foreign_key_check").fetchone()):
        raise damaged(where)
    readings, *rows = (_number(raw, name) for name in ("readings", *ROWS))
    return Counted(form, rows[0], readings + _packed(raw, where), *rows[1:])


def _form(raw: sqlite3.Connection, where: str) -> str:
    if not _has(raw, "alembic_version") or not _has(raw, "readings"):
        raise StoreError(f"{where} is no record of snapgloss.", "Name a backup that it made.")
    row = raw.execute("SELECT version_num FROM alembic_version").fetchone()
    if row is None or row[0] not in REVISIONS:
        form = row[0] if row else "unknown"
        raise VersionError(
            f"{where} was written by a newer snapgloss (form {form}).", "Update snapgloss."
        )
    return str(row[0])


def _has(raw: sqlite3.Connection, table: str) -> bool:
    asked = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?"
    return raw.execute(asked, (table,)).fetchone() is not None


def _number(raw: sqlite3.Connection, table: str) -> int:
    if not _has(raw, table):
        return 0
    return int(raw.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0])


def _packed(raw: sqlite3.Connection, where: str) -> int:
    if not _has(raw, "packed"):
        return 0
    try:
        return sum(count(block) for (block,) in raw.execute("SELECT content FROM packed"))
    except StoreError as problem:
        raise damaged(where) from problem
