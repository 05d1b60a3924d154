"""The rigs of a workshop by name: which board each is, and its description.

A rig is known by its board, which says its id in every hello, whatever port it is on. Its name is
that of its description. Kept in the data folder, only ever added to: the last entry of a name
counts, and one without a board means that the rig is not there any more.
"""

import re
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.store import sheets

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription

FILE = "rigs.txt"
LIST_THEM = "List them with `snapgloss rigs`, or add it with `snapgloss rigs --add RIG.toml`."


class KnownRig(NamedTuple):
    """One rig; `port` is where it was when it was added, `usb_id` that port's, empty for none."""

    name: str
    board: str
    port: str
    usb_id: str
    description: str

    @property
    def rig(self) -> "RigDescription":
        """Its description. Raises InputError when this version cannot read it."""
        from snapgloss.rigs.description import from_text

        return from_text(self.description, self.name)


def known_rigs(data: Path) -> list[KnownRig]:
    """All rigs of a data folder, in the order in which they were added. Raises StoreError."""
    found: dict[str, KnownRig] = {}
    for row in sheets.read(data / FILE):
        one = KnownRig(*(str(row.get(name, "")) for name in KnownRig._fields))
        if one.board:
            found[one.name] = one
        else:
            found.pop(one.name, None)
    return list(found.values())


def add_rig(data: Path, rig: "RigDescription", board: str, port: str, usb_id: str) -> str:
    """Know a rig by its board from now on; return a sentence about it.

    Raises InputError when that board is known under another name.
    """
    from snapgloss.rigs.description import to_text

    other = next((one for one in known_rigs(data) if one.board == board), None)
    if other is not None and other.name != rig.name:
        raise InputError(
            f'The board {board} is the rig "{other.name}" already.',
            "Drop that name first, or give the description the same name.",
        )
    sheets.append(data / FILE, KnownRig(rig.name, board, port, usb_id, to_text(rig))._asdict())
    return f'"{rig.name}" is the board {board}.'


def drop_rig(data: Path, name: str) -> str:
    """Forget a rig; its batches stay. Raises InputError for one that is not known."""
    one = rig_named(data, name)
    sheets.append(data / FILE, {"name": one.name, "board": ""})
    return f'"{one.name}" is forgotten; its batches stay.'


def rig_named(data: Path, name: str) -> KnownRig:
    """Return the rig of that name, whatever its capitals. Raises InputError that names all."""
    rigs = known_rigs(data)
    found = [one for one in rigs if one.name.casefold() == name.strip().casefold()]
    if not found:
        names = ", ".join(f'"{one.name}"' for one in rigs) or "none yet"
        raise InputError(f'There is no rig "{name.strip()}" here; known: {names}.', LIST_THEM)
    return found[0]


def keys_of(names: list[str]) -> list[str]:
    """Return a key for each name, fit for an address, each once: small letters, digits, dashes."""
    keys: list[str] = []
    for name in names:
        begin = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "rig"
        key, number = begin, 1
        while key in keys:
            number += 1
            key = f"{begin}-{number}"
        keys.append(key)
    return keys
