"""Tables and migrations: what was measured, kept for good.

Importing this package is cheap; the database library is loaded by the first `open_store`.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.store.rows import TO_THE_END, GapRow, NewRun, NoteRow, PartRow, RunRow

if TYPE_CHECKING:
    from snapgloss.store.store import Store

__all__ = ["TO_THE_END", "GapRow", "NewRun", "NoteRow", "PartRow", "RunRow", "open_store"]


def open_store(
    data_dir_or_url: str | Path,
    clock_utc_ms: Callable[[], int] | None = None,
    to_read: bool = False,
) -> "Store":
    """Open the record in a data folder (made if absent) or at a database URL, migrated to head.

    `clock_utc_ms` gives UTC milliseconds; the computer's own clock when None. With `to_read` a
    record that may only be read will do; every write of it raises StoreError then. Close the store
    when done (it is a context manager). Raises StoreError: the folder cannot be made, read or
    written; the record is locked or damaged. Raises VersionError: a newer snapgloss wrote it.
    """
    from snapgloss.store.store import Store

    return Store(data_dir_or_url, clock_utc_ms, to_read)
