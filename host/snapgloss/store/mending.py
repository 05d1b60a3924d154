"""When a record is salvaged: asked for, or because it cannot be opened to be written."""

import sqlite3
import time
from contextlib import closing
from pathlib import Path

from snapgloss.base.errors import InputError, StoreDamaged, StoreError, VersionError
from snapgloss.base.textfiles import shown_path
from snapgloss.store.copying import checked_in
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.failures import store_error
from snapgloss.store.salvage import Salvaged, salvaged


def mended(folder: Path) -> Salvaged | None:
    """Salvage the record in a data folder when it is damaged; None when it is sound.

    Raises InputError when there is none, VersionError when it is newer, StoreBusy when another
    program has it open, StoreError when the disk reports a fault, which is no damage of the file.
    """
    path = folder / FILE_NAME
    if not path.is_file() or path.stat().st_size == 0:
        raise InputError(
            f"There is nothing to salvage in {shown_path(folder)}.",
            "Name the folder of the record with --data, or put back a backup.",
        )
    return None if _is_sound(path) else salvaged(folder, lambda: time.time_ns() // 1_000_000)


def _is_sound(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(path)) as raw:
            checked_in(raw, shown_path(path), thorough=True)
    except VersionError:
        raise
    except (StoreError, UnicodeDecodeError):
        return False
    except sqlite3.DatabaseError as fault:
        named = getattr(fault, "sqlite_errorname", None)
        if named == "SQLITE_NOTADB" or isinstance(store_error(fault, ""), StoreDamaged):
            return False
        raise store_error(fault, shown_path(path)) from fault
    return True
