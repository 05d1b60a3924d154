"""Addresses of servers, with their passwords: from the environment or a private file, never from
a command line, which every user of a computer can list."""

import os
import stat
from pathlib import Path
from urllib.parse import urlsplit

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import read_text

RECORD_VARIABLE, RECORD_FILE = "SNAPGLOSS_RECORD", "record.url"
BROKER_VARIABLE, BROKER_FILE = "SNAPGLOSS_BROKER", "broker.url"
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def record_address(folder: Path) -> Path | str:
    """Return where the record is: the URL of a database, or the data folder where none is named.

    SNAPGLOSS_RECORD if set and not blank, else the line in record.url of the data folder. Raises
    InputError for a file that others may read.
    """
    return _named(RECORD_VARIABLE, folder / RECORD_FILE) or folder


def broker_address(folder: Path) -> str:
    """Return the URL of the broker that is told live readings, empty where none is named.

    SNAPGLOSS_BROKER if set and not blank, else the line in broker.url of the data folder. Raises
    InputError for a file that others may read.
    """
    return _named(BROKER_VARIABLE, folder / BROKER_FILE)


def refuse_password(url: str) -> str:
    """Return a URL that was typed. Raises InputError when a password stands in it."""
    if urlsplit(url).password is not None or "password=" in url:
        raise InputError(
            "A password on the command line can be read by others.",
            f"Put the whole address into {RECORD_VARIABLE} instead, or the password into "
            "PGPASSWORD.",
        )
    return url


def _named(variable: str, file: Path) -> str:
    from_environment = os.environ.get(variable, "").strip()
    if from_environment or not file.exists():
        return from_environment
    if os.name == "posix" and file.stat().st_mode & _OTHERS:
        raise InputError(
            f"Others may read {file.name} in the data folder, and a password may stand in it.",
            f"Make it yours alone: chmod 600 {file}",
        )
    return read_text(file).strip()
