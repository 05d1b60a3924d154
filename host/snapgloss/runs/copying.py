"""Copy the record of a data folder into a database that several computers can share."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.store import open_store

if TYPE_CHECKING:
    from snapgloss.store.transfer import Copied


def copy_to(folder: Path, url: str, tell: Callable[[str, int, int], None]) -> "list[Copied]":
    """Copy the record in `folder` to `url`, verified; `tell` is told a table's name, how many of
    its rows are done, and how many there are. Raises InputError without a record, StoreError."""
    from snapgloss.store.engine import FILE_NAME
    from snapgloss.store.transfer import copy_record

    if not (folder / FILE_NAME).exists():
        raise InputError("There is no record in this data folder.", "Name one with --data.")
    with open_store(folder, to_read=True) as source, open_store(url) as target:
        return copy_record(source, target, tell)
