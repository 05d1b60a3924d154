"""Schedule files: read with care, written so that a half-written file is never left behind."""

import stat
from pathlib import Path

from snapgloss.base.errors import InputError
from snapgloss.schedules.model import ScheduleFile
from snapgloss.schedules.reader import from_text
from snapgloss.schedules.writer import to_text

MAX_BYTES = 256_000
"""A usual file has 2,000 bytes; more than this is some other file, chosen by mistake."""

__all__ = ["MAX_BYTES", "from_text", "read", "to_text", "write"]


def read(path: Path) -> ScheduleFile:
    """Return the schedule in a TOML file.

    Raises InputError when the file is not there, is no ordinary file, is larger than MAX_BYTES,
    is not UTF-8, or is no schedule; the message names the file and, where it applies, the step
    and field.
    """
    name = path.name or str(path)
    data = _bytes_of(path, name)
    if len(data) > MAX_BYTES:
        raise InputError(f"{name} is larger than 256 kB; a schedule file is much smaller.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        raise InputError(
            f"{name}, line {line}: this is not UTF-8; save the file as UTF-8."
        ) from None
    return from_text(text, name)


def _bytes_of(path: Path, name: str) -> bytes:
    """Read at most one byte more than is allowed, from an ordinary file only."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise InputError(f"{name} is not an ordinary file.", "Name a schedule file.")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise InputError(f"There is no file {path}.", "Check the name and the folder.") from None
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(f"{name} cannot be read: {why}.", "Check the file.") from problem


def write(path: Path, schedule: ScheduleFile, overwrite: bool = False) -> None:
    """Write the schedule to a file, whole or not at all.

    Raises InputError when the file is there already and `overwrite` is false, or when the folder
    cannot be written to.
    """
    if path.exists() and not overwrite:
        raise InputError(f"{path} is there already.", "Choose another name.")
    try:
        _replace(path, to_text(schedule))
    except OSError as problem:
        raise InputError(
            f"{path} cannot be written: {problem.strerror or problem}.", "Choose another folder."
        ) from problem


def _replace(path: Path, text: str) -> None:
    scratch = path.with_name(path.name + ".part")
    try:
        scratch.write_text(text, encoding="utf-8", newline="\n")
        scratch.replace(path)
    finally:
        scratch.unlink(missing_ok=True)
