"""Schedule files: read with care, written so that a half-written file is never left behind."""

from pathlib import Path

from snapgloss.base import textfiles
from snapgloss.schedules.model import ScheduleFile
from snapgloss.schedules.reader import from_text
from snapgloss.schedules.writer import to_text

__all__ = ["from_text", "read", "to_text", "write"]


def read(path: Path) -> ScheduleFile:
    """Return the schedule in a TOML file.

    Raises InputError when the file is not there, is no ordinary file, is larger than
    textfiles.MAX_BYTES, is not UTF-8, or is no schedule; the message names the file and, where
    it applies, the step and the field.
    """
    return from_text(textfiles.read_text(path), textfiles.name_of(path))


def write(path: Path, schedule: ScheduleFile, overwrite: bool = False) -> None:
    """Write the schedule to a file, whole or not at all.

    Raises InputError when the file is there already and `overwrite` is false, or when the folder
    cannot be written to.
    """
    textfiles.write_text(path, to_text(schedule), overwrite)
