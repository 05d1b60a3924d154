"""What was chosen last for each chocolate, so that next time nothing has to be typed: a file."""

import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, get_args

from snapgloss.base.textfiles import replace
from snapgloss.schedules.model import Method, StartState

if TYPE_CHECKING:
    from snapgloss.runs.shelf import Own

FILE_NAME = "choices.json"
CHOCOLATES_MOST = 300


@dataclass(frozen=True)
class Remembered:
    """The choices of one chocolate; `bars` 0 = by mass, `method` empty = by the start state."""

    mass_g: int = 2000
    start: str = "solid"
    method: str = ""
    bars: int = 0
    each_g: int = 60
    cavities: int = 8


def remembered(folder: Path, own: "Own") -> Remembered:
    """Return what was chosen last for a chocolate; else how it was tempered last."""
    found = _read(folder).get(own.key)
    if found is not None:
        return found
    if own.last is None:
        return Remembered()
    return Remembered(own.last.mass_g, own.last.start, own.last.method)


def remember(folder: Path, own: "Own", chosen: Remembered) -> None:
    """Keep it, whole or not at all. A disk that takes nothing must not stop anybody."""
    held = _read(folder)
    held.pop(own.key, None)
    held[own.key] = chosen
    kept = list(held.items())[-CHOCOLATES_MOST:]
    try:
        replace(folder / FILE_NAME, json.dumps({k: asdict(v) for k, v in kept}).encode())
    except OSError:
        return


def _read(folder: Path) -> dict[str, Remembered]:
    """What cannot be used is left out."""
    try:
        data = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        rows = data.items()
    except (OSError, ValueError, AttributeError):
        return {}
    found = {str(key): _row(row) for key, row in rows}
    return {key: row for key, row in found.items() if row is not None}


def _row(row: object) -> Remembered | None:
    names = {one.name: type(one.default) for one in fields(Remembered)}
    if not isinstance(row, dict) or set(row) - set(names):
        return None
    if any(type(value) is not names[name] for name, value in row.items()):
        return None
    made = Remembered(**row)
    known = made.start in get_args(StartState) and made.method in ("", *get_args(Method))
    return made if known else None
