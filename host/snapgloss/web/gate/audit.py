"""One line for each command and each refusal: when, who, what, and how it ended."""

import contextlib
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

FILE_NAME = "page-commands.log"
MOST_BYTES = 2_000_000
SHOWN_MOST = 120


class Entry(NamedTuple):
    """A line of the audit, and what a page shows as the last command."""

    at: str  # UTC, ISO 8601
    who: str
    what: str
    result: str


class Audit:
    """Appends to a file in the data folder; an older one is kept beside it as `.1`.

    A disk that takes nothing must not keep anybody from saying off: then the line is lost.
    """

    def __init__(self, folder: Path, utc_s: Callable[[], float] = time.time) -> None:
        self._path, self._utc_s = folder / FILE_NAME, utc_s

    def add(self, who: str, what: str, result: str) -> Entry:
        """Write one line, its parts on one line whatever they hold."""
        at = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(self._utc_s()))
        entry = Entry(at, *(_one_line(part) for part in (who, what, result)))
        with contextlib.suppress(OSError):
            self._write("  ".join(entry) + "\n")
        return entry

    def _write(self, line: str) -> None:
        if self._path.exists() and self._path.stat().st_size > MOST_BYTES:
            self._path.replace(self._path.with_suffix(".log.1"))
        flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT
        handle = os.open(self._path, flags, 0o600)
        with os.fdopen(handle, "a", encoding="utf-8") as file:
            file.write(line)


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text[:SHOWN_MOST]) or "-"
