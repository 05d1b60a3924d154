"""Files that people read and write: never left half written, refused in one sentence."""

import difflib
import os
import re
import stat
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from snapgloss.base.errors import InputError
from snapgloss.base.toml_lines import line_of

MAX_BYTES = 256_000
"""A usual file has 2,000 bytes; more than this is some other file, chosen by mistake."""

DOTS_MOST = 2000
"""The parser's memory grows with the square of the points in one name: 100,000 took all of it."""

SHOWN_MAX = 40
PATH_SHOWN_MAX = 200
DIGITS_MOST = 4300
"""What Python reads of a whole number (sys.int_info); its error for more names no line."""

_ENDLESS = re.compile(rf"\d(?:_?\d){{{DIGITS_MOST}}}")
_TOML_LINE = re.compile(r"at line (\d+)")


class FileRefused(InputError):
    """A file that people write cannot be used; the message is one sentence that names the place.

    `file` is its name, `line` counts from 1 and is None where no line is to blame, `field` is
    such as "step 3, target" and empty for the file as a whole.
    """

    def __init__(self, file: str, line: int | None, field: str, words: str) -> None:
        self.file, self.line, self.field = file, line, field
        spot = ", ".join(filter(None, (file, f"line {line}" if line else "", field)))
        super().__init__(f"{spot}: {words}.")


def read_text(path: Path) -> str:
    """Return the text of an ordinary UTF-8 file of at most MAX_BYTES.

    Raises InputError, naming the file, when it is not there, cannot be read, is no ordinary
    file, is too large, or is not UTF-8 (then with the line).
    """
    name = name_of(path)
    return text_of(_bytes_of(path, name), name)


def name_of(path: Path) -> str:
    """Return the name of a file as it may stand in a sentence."""
    return one_line(path.name or str(path))


def text_of(data: bytes, name: str) -> str:
    """Return the text of a file's bytes; InputError when too large or not UTF-8."""
    if len(data) > MAX_BYTES:
        raise InputError(f"{name} is larger than 256 kB; name a file that people wrote.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        raise FileRefused(name, line, "", "this is not UTF-8; save the file as UTF-8") from None


def _bytes_of(path: Path, name: str) -> bytes:
    """Read at most one byte more than is allowed; a pipe or device is never opened."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise InputError(f"{name} is a folder.", "Name a file in it.")
        if not stat.S_ISREG(mode):
            raise InputError(f"{name} is not an ordinary file.", "Name a file.")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise InputError(
            f"There is no file {shown_path(path)}.", "Check the name and the folder."
        ) from None
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(f"{name} cannot be read: {why}.", "Check the file.") from problem


def shown_path(path: Path | str) -> str:
    """Return a path on one line; a long one by its end, where the name is."""
    text = "".join(c if c.isprintable() else "?" for c in str(path))
    return text if len(text) <= PATH_SHOWN_MAX else f"...{text[-PATH_SHOWN_MAX:]}"


def write_text(path: Path, text: str, overwrite: bool = False) -> None:
    """Write the text to a file, whole or not at all.

    Raises InputError when the file is there already and `overwrite` is false, or when the folder
    cannot be written to.
    """
    try:
        if path.exists() and not overwrite:
            raise InputError(f"{shown_path(path)} is there already.", "Choose another name.")
        replace(path, text.encode())
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(
            f"{shown_path(path)} cannot be written: {why}.", "Choose another place."
        ) from problem


def replace(path: Path, content: bytes) -> None:
    """Write beside, then rename: a reader sees the old file or the new one. Raises OSError."""
    scratch = path.with_name(f".{path.name}-{os.getpid()}")
    try:
        scratch.write_bytes(content)
        scratch.replace(path)
    finally:
        scratch.unlink(missing_ok=True)


def load_toml(text: str, where: str) -> dict[str, Any]:
    """Return the table of a TOML text; `where` names the file in the InputError."""
    if not text.strip():
        raise InputError(f'{where} is empty; begin with the line "format = 1".')
    if text.count(".") > DOTS_MOST:
        raise FileRefused(
            where, None, "", f"more than {DOTS_MOST} points; no file of ours has them"
        )
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as problem:
        endless = _ENDLESS.search(text)
        found = _TOML_LINE.search(str(problem))
        if endless and not found:
            line = text.count("\n", 0, endless.start()) + 1
            words = f"a number of more than {DIGITS_MOST} digits; no file of ours has one"
            raise FileRefused(where, line, "", words) from None
        line = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
        raise FileRefused(
            where,
            line,
            "",
            'this is not TOML; write name = "value", close every quote and bracket, and use a '
            "name once",
        ) from None


def field_refused(text: str, where: str, field: str, words: str) -> FileRefused:
    """Return the refusal of a field in the head of a file, with the line it stands on."""
    name = field if field.isidentifier() and len(field) <= SHOWN_MAX else shown(field)
    return FileRefused(where, line_of(text, (field,)), name, words)


def advice(name: str, names: Iterable[str]) -> str:
    """Return what to write instead of an unknown field: the closest name, or all of them."""
    names = list(names)
    close = difflib.get_close_matches(name[:SHOWN_MAX], names, n=1)
    if close:
        return f'no such field; perhaps "{close[0]}" is meant'
    return f"no such field; the fields here are {', '.join(names)}"


def shown(value: object) -> str:
    """Return a value as it may stand in a sentence: one line, printable, not endless."""
    if isinstance(value, str):
        return f'"{one_line(value)}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        small = isinstance(value, float) or abs(value) < 10**SHOWN_MAX
        return one_line(str(value)) if small else "a number of over 40 digits"
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list | tuple) else "a date or time"


def one_line(text: str) -> str:
    """Return a text as it may stand in a sentence: printable, at most 40 characters of it."""
    short = text if len(text) <= SHOWN_MAX else text[:SHOWN_MAX] + "..."
    return "".join(c if c.isprintable() else "?" for c in short)
