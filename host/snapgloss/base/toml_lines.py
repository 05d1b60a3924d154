"""On which line of a TOML text a value stands. The parser of the language keeps no lines.

A line that seems to set the value is taken only if what stands before it is TOML by itself and,
with this key put behind it, has the value at its path: so a line inside a long text or under
another table never counts.
"""

import re
import tomllib
from collections.abc import Iterator
from typing import Any

Path = tuple[str | int, ...]
"""("steps", 2, "target"): names of tables and, counted from 0, places in a list of tables."""

TRIES_MOST = 64
"""A file of ours has at most 16 steps; more lines than this are not looked at."""


def line_of(text: str, path: Path) -> int | None:
    """Return the line (from 1) where `path` is set, else where its table begins, else None.

    The top of the file is not a place: a missing key of the head gives None.
    """
    lines = [f"{line}\n" for line in text.split("\n")]  # as TOML counts them, and no others
    for length in range(len(path), 0, -1):
        found = _exactly(lines, path[:length])
        if found is not None:
            return found
    return None


def _exactly(lines: list[str], path: Path) -> int | None:
    for at in _candidates(lines, path):
        before, header = "".join(lines[:at]), lines[at].lstrip().startswith("[")
        try:
            data = tomllib.loads(before + (lines[at] if header else f"{_key(path)} = 0\n"))
        except (ValueError, RecursionError):
            continue
        if _has(data, path):
            return at + 1
    return None


def _candidates(lines: list[str], path: Path) -> Iterator[int]:
    """Yield the indexes of lines that name the last word of the path, the first few of them."""
    word = re.escape(str(next(part for part in reversed(path) if isinstance(part, str))))
    names = rf"(?:{word}|\"{word}\"|'{word}')"
    header = isinstance(path[-1], int) or rf"|\s*\[\[?\s*{names}\s*\]"
    pattern = rf"\s*\[\[\s*{names}\s*\]\]" if header is True else rf"\s*{names}\s*[=.]{header}"
    tries = 0
    for at, line in enumerate(lines):
        if re.match(pattern, line):
            yield at
            tries += 1
        if tries >= TRIES_MOST:
            return


def _key(path: Path) -> str:
    """Return the last word of a path as a quoted key."""
    word = str(path[-1]).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{word}"'


def _has(data: Any, path: Path) -> bool:
    for part in path:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return False
    return True
