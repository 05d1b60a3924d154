"""Where the details of a fault in this program go."""

import traceback
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from snapgloss.base.errors import SnapglossError
from snapgloss.base.settings import data_dir

LOG_NAME = "faults.log"


def keep_details(arguments: Sequence[str]) -> Path | None:
    """Append the exception being handled to faults.log of the data folder; return its path.

    Returns None when that folder cannot be written.
    """
    try:
        path = data_dir(_data_option(arguments)) / LOG_NAME
        with path.open("a", encoding="utf-8") as log:
            log.write(f"{datetime.now(UTC).isoformat(timespec='seconds')} {list(arguments)}\n")
            log.write(f"{traceback.format_exc()}\n")
    except (SnapglossError, OSError):
        return None
    return path


def _data_option(arguments: Sequence[str]) -> Path | None:
    """Return the value of --data; the parser may be what failed, so it is not asked."""
    for at, argument in enumerate(arguments):
        if argument == "--data" and at + 1 < len(arguments):
            return Path(arguments[at + 1])
        if argument.startswith("--data="):
            return Path(argument.removeprefix("--data="))
    return None
