"""A sheet that is only ever written on: one line a record, each with its check sum.

What a power cut tore is the last line, and only that: it is left out on reading and cut off before
the next is written. A damaged line further up is an error: such a sheet was changed by hand.
"""

import json
import os
import zlib
from pathlib import Path
from typing import Any

from snapgloss.base import folders
from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import shown_path


def read(path: Path) -> list[dict[str, Any]]:
    """Every whole record, oldest first; none when there is no sheet. Raises StoreError."""
    return [_loaded(line, path) for line in _whole_lines(path)]


def append(path: Path, record: dict[str, Any]) -> None:
    """Write one more record, on the disk when this returns. Raises StoreError."""
    text = json.dumps(record, ensure_ascii=True, sort_keys=True)
    line = f"{text} {zlib.crc32(text.encode()):08x}\n".encode()
    try:
        folders.make(path.parent)
        keep = sum(len(one) + 1 for one in _whole_lines(path))
        with path.open("r+b" if path.exists() else "x+b") as file:
            file.truncate(keep)
            file.seek(keep)
            file.write(line)
            file.flush()
            os.fsync(file.fileno())
        folders.sync(path.parent)
    except OSError as problem:
        raise StoreError(
            f"{shown_path(path)} cannot be written: {problem.strerror or problem}.",
            "Make room, or name another data folder. The step does not count.",
        ) from problem


def _whole_lines(path: Path) -> list[bytes]:
    """The lines of a sheet without a torn last one."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return []
    except OSError as problem:
        raise StoreError(f"{shown_path(path)} cannot be read.", "Check the folder.") from problem
    *lines, rest = data.split(b"\n")
    if lines and not rest and not _is_good(lines[-1]):
        lines.pop()  # its end was on the disk before its middle
    return lines


def _is_good(line: bytes) -> bool:
    text, _, crc = line.rpartition(b" ")
    return crc == f"{zlib.crc32(text):08x}".encode()


def _loaded(line: bytes, path: Path) -> dict[str, Any]:
    if not _is_good(line):
        raise StoreError(
            f"{shown_path(path)} is damaged or was changed by hand.",
            "Move it aside and do the steps again.",
        )
    record: dict[str, Any] = json.loads(line.rpartition(b" ")[0])
    return record
