"""Tables and migrations: what was measured, kept for good.

Importing this package is cheap; the database library is loaded by the first `open_store`.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.base.errors import StoreDamaged
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
    when done (it is a context manager). A file that is too damaged to be opened is set aside and
    salvaged, unless `to_read`; `told` of the store says what was done on opening. Raises
    StoreError: the folder cannot be made, read or written; the record is locked, or damaged and
    in use. Raises VersionError: a newer snapgloss wrote it.
    """
    from snapgloss.store.store import Store

    try:
        return Store(data_dir_or_url, clock_utc_ms, to_read)
    except StoreDamaged:
        if to_read or "://" in str(data_dir_or_url):
            raise
    from snapgloss.store.mending import mended

    found = mended(Path(data_dir_or_url))
    store = Store(data_dir_or_url, clock_utc_ms)
    store.told += [found.words] if found else []
    return store
