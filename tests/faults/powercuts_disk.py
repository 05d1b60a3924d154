"""A disk that forgets: what of a list of file operations is there after the power was cut.

Strict as POSIX allows: what a file holds is there for good once that file was synced, a name
once its folder was. What was not synced may be there or not, in any order, sector by sector; a
sector is written whole or not at all, and one that nobody writes keeps what it holds.
"""

from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import NamedTuple

FOLDER = -1  # stands for an inode that is a folder
MODES = ("lost", "torn", "reordered")
"""Nothing that was not synced is there; it is there up to a sector; any sectors of it are."""


class Op(NamedTuple):
    """One operation: `write` (inode, at, data), `length` (inode, at), `sync` (inode),
    `names` (changes: path and inode, None to take it away), `sync_names` (path), `ack`."""

    kind: str
    inode: int = 0
    at: int = 0
    data: bytes = b""
    changes: tuple[tuple[str, int | None], ...] = ()
    path: str = ""


@dataclass
class File:
    """What is there for good, and what is under way to it."""

    kept: bytearray = field(default_factory=bytearray)
    pending: list[Op] = field(default_factory=list)


class Disk:
    """Takes operations; gives the files as a cut would leave them."""

    def __init__(self) -> None:
        self._files: dict[int, File] = {}
        self._names: dict[str, int] = {}
        self._pending: list[Op] = []
        self.version = 0
        """Rises with every change of what is there for good."""

    def take(self, op: Op) -> None:
        """Do one operation."""
        if op.kind in ("write", "length"):
            self._files.setdefault(op.inode, File()).pending.append(op)
        elif op.kind == "names":
            self._pending.append(op)
        elif op.kind == "sync":
            self._sync(self._files.setdefault(op.inode, File()))
        elif op.kind == "sync_names":
            self._sync_names(op.path)

    def _sync(self, file: File) -> None:
        self.version += bool(file.pending)
        for op in file.pending:
            _apply(file.kept, op)
        file.pending = []

    def _sync_names(self, folder: str) -> None:
        inside = [op for op in self._pending if _folder_of(op) == folder]
        self.version += bool(inside)
        for op in inside:
            _rename(self._names, op)
        self._pending = [op for op in self._pending if op not in inside]

    def image(self, mode: str, chance: Random) -> dict[str, bytearray | None]:
        """Path and content of every file after a cut now; None for a folder."""
        names = dict(self._names)
        for op in _names_left(self._pending, mode, chance):
            _rename(names, op)
        return {
            path: None if inode == FOLDER else self._content(inode, mode, chance)
            for path, inode in sorted(names.items())
            if _has_folders(path, names)
        }

    def _content(self, inode: int, mode: str, chance: Random) -> bytearray:
        file = self._files.get(inode, File())
        content = bytearray(file.kept)
        for op in _writes_left(file.pending, mode, chance):
            _apply(content, op)
        return content


def _apply(content: bytearray, op: Op) -> None:
    if op.kind == "length":
        del content[op.at :]
        content.extend(bytes(op.at - len(content)))
        return
    content.extend(bytes(max(0, op.at - len(content))))
    content[op.at : op.at + len(op.data)] = op.data


def _rename(names: dict[str, int], op: Op) -> None:
    for path, inode in op.changes:
        if inode is None:
            names.pop(path, None)
        else:
            names[path] = inode


def _folder_of(op: Op) -> str:
    return str(Path(op.changes[-1][0]).parent)


def _has_folders(path: str, names: dict[str, int]) -> bool:
    above = str(Path(path).parent)
    return above == "." or (above in names and _has_folders(above, names))


def _names_left(pending: list[Op], mode: str, chance: Random) -> list[Op]:
    if mode == "lost":
        return []
    if mode == "torn":
        return pending[: chance.randint(0, len(pending))]
    return [op for op in pending if chance.random() < 0.5]


def _writes_left(pending: list[Op], mode: str, chance: Random) -> list[Op]:
    if mode == "lost" or not pending:
        return []
    sector_bytes = chance.choice((512, 4096))
    if mode == "torn":
        whole = chance.randrange(len(pending))
        last = _sectors(pending[whole], sector_bytes)
        return [*pending[:whole], *last[: chance.randint(0, len(last))]]
    share = chance.choice((0.1, 0.5, 0.9))
    sectors = [part for op in pending for part in _sectors(op, sector_bytes)]
    return [part for part in sectors if chance.random() < share]


def _sectors(op: Op, sector_bytes: int) -> list[Op]:
    """A write as the writes of its sectors."""
    if op.kind != "write":
        return [op]
    found, at, end = [], op.at, op.at + len(op.data)
    while at < end:
        upto = min(end, (at // sector_bytes + 1) * sector_bytes)
        found.append(op._replace(at=at, data=op.data[at - op.at : upto - op.at]))
        at = upto
    return found
