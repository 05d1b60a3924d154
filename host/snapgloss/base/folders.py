"""Folders whose names are on the disk for good: a power cut cannot take them back."""

import os
from pathlib import Path


def make(folder: Path) -> None:
    """Make a folder and those above it, where they are not there; each name is then synced.

    Raises OSError, FileExistsError for a file in its place.
    """
    missing = [folder, *folder.parents]
    missing = [one for one in missing if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for one in reversed(missing):
        sync(one.parent)


def sync(folder: Path) -> None:
    """Put the names in a folder on the disk for good. Windows has no such call. Raises OSError."""
    if os.name == "nt":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
