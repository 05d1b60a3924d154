"""The maker's own chocolates: those described in the data folder, and those of earlier batches."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.names import check_name
from snapgloss.chocolate import description
from snapgloss.chocolate.description import ChocolateDescription

if TYPE_CHECKING:
    from snapgloss.schedules.model import Method, ScheduleFile, StartState
    from snapgloss.store.rows import RunRow
    from snapgloss.store.store import Store

FOLDER = "chocolates"
"""Inside the data folder; a file for each chocolate."""


class Last(NamedTuple):
    """How a chocolate was tempered last."""

    run: int
    mass_g: int
    method: "Method"
    start: "StartState"


class Own(NamedTuple):
    """A chocolate of the maker's; `last` None when it was never tempered."""

    chocolate: ChocolateDescription
    last: Last | None

    @property
    def key(self) -> str:
        """What it is remembered by."""
        return self.chocolate.name.casefold()


def own_chocolates(folder: Path, store: "Store") -> list[Own]:
    """All of them, the one tempered last first, then by name those that never were.

    A file that cannot be read is passed over: `check_file` says what is wrong with it.
    """
    described = _described(folder)
    found: dict[str, Own] = {}
    for run in store.runs():
        key = run.chocolate.casefold()
        if key not in found and (own := _of_run(run, described.get(key))) is not None:
            found[key] = own
    never = (Own(one, None) for key, one in sorted(described.items()) if key not in found)
    return [*found.values(), *never]


def add_chocolate(
    folder: Path, name: str, kind: str, allergens: Sequence[str] = ()
) -> ChocolateDescription:
    """Keep a chocolate of which no more is known than its name, its type and its allergens.

    Raises InputError for a name that is none or is there already, StoreError when it cannot be
    written.
    """
    name = name.strip()
    check_name(name, "The chocolate's name")
    if kind not in ("dark", "milk", "white"):
        raise InputError(f'"{kind}" is no type.', "Choose dark, milk or white.")
    if name.casefold() in _described(folder):
        raise InputError(f"There is a chocolate of the name {name} already.", "Choose it.")
    described = ChocolateDescription.model_validate(
        {"name": name, "type": kind, "allergens": tuple(allergens)}
    )
    (folder / FOLDER).mkdir(parents=True, exist_ok=True)
    description.write(_free_path(folder / FOLDER, name), described)
    return described


def _free_path(folder: Path, name: str) -> Path:
    """A file's name that any system takes."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "chocolate"
    path, number = folder / f"{plain}.toml", 1
    while path.exists():
        number += 1
        path = folder / f"{plain}-{number}.toml"
    return path


def _described(folder: Path) -> dict[str, ChocolateDescription]:
    found: dict[str, ChocolateDescription] = {}
    for path in sorted((folder / FOLDER).glob("*.toml")):
        try:
            one = description.read(path)
        except InputError:
            continue
        found.setdefault(one.name.casefold(), one)
    return found


def _of_run(run: "RunRow", described: ChocolateDescription | None) -> Own | None:
    """None for a batch whose schedule cannot be read any more."""
    from snapgloss.schedules import files

    try:
        schedule = files.from_text(run.schedule_toml)
    except InputError:
        return None
    last = Last(run.id, schedule.mass_g, schedule.method, schedule.start)
    return Own(described or _as_tempered(schedule), last)


def _as_tempered(schedule: "ScheduleFile") -> ChocolateDescription:
    """What a schedule says of its chocolate."""
    return ChocolateDescription.model_validate(
        {
            "name": schedule.chocolate,
            "type": schedule.type,
            "milk_fat_permille": schedule.milk_fat_permille,
        }
    )
