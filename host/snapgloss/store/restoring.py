"""Put a backup in the place of the present record."""

from contextlib import nullcontext
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from snapgloss.base import folders
from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.textfiles import shown_path
from snapgloss.store.aside import held, put_in_place
from snapgloss.store.copying import Counted, checked, copied, reading_file
from snapgloss.store.engine import FILE_NAME


class Restored(NamedTuple):
    """What the record holds now, and where the one before is; None where there was none."""

    record: Path
    counted: Counted
    set_aside: Path | None


def restored(folder: Path, backup: Path) -> Restored:
    """Check a backup, set the present record aside and put a copy of the backup in its place.

    Raises InputError when the backup is not there or is the record itself, StoreError when it is
    damaged, StoreBusy when another program has the record open; the record is as it was then.
    """
    checked(backup, thorough=True)
    record = folder / FILE_NAME
    if record.exists() and record.samefile(backup):
        raise InputError(
            f"{shown_path(backup)} is the present record itself.", "Name a backup of it."
        )
    try:
        folders.make(folder)
        with TemporaryDirectory(prefix=".restore-", dir=folder) as place:
            draft = Path(place) / FILE_NAME
            with reading_file(backup) as raw:
                counted = copied(raw, draft, shown_path(backup))
            with held(record) if record.exists() else nullcontext():
                return Restored(record, counted, put_in_place(draft, record))
    except OSError as problem:
        raise StoreError(
            f"The data folder {shown_path(folder)} cannot be written: {problem.strerror}.",
            "Make room, or choose another folder with --data.",
        ) from problem
