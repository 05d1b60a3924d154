"""Where the data folder is: the option, else the environment, else the system's usual place."""

import os
from pathlib import Path

from platformdirs import user_data_path

from snapgloss.base import folders
from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import shown_path

DATA_VARIABLE = "SNAPGLOSS_DATA"


def data_dir(option: Path | None = None) -> Path:
    """Return the data folder as an absolute path, made if it is not there yet.

    Order: `option` (the value of --data), the variable SNAPGLOSS_DATA if set and not blank,
    the system's folder for user data. Raises StoreError when it cannot be a folder.
    """
    folder = _chosen(option)
    try:
        folder = folder.expanduser().absolute()
        folders.make(folder)
    except (OSError, RuntimeError, ValueError) as problem:  # no such home; a name with NUL in it
        why = getattr(problem, "strerror", None) or "the name cannot be used"
        if isinstance(problem, FileExistsError):
            why = "it is a file"
        raise StoreError(
            f"The data folder {shown_path(folder)} cannot be made: {why}.",
            f"Name a folder you may write to with --data or {DATA_VARIABLE}.",
        ) from problem
    return folder


def _chosen(option: Path | None) -> Path:
    if option is not None:
        return option
    from_environment = os.environ.get(DATA_VARIABLE, "").strip()
    if from_environment:
        return Path(from_environment)
    return user_data_path("snapgloss", appauthor=False)
