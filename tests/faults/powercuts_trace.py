"""From a trace of strace to the file operations below one folder.

SQLite's shared memory is written through a map, which no trace shows; it is nothing that lasts:
the first program to open a record after a cut makes it anew.
"""

import os
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from powercuts_disk import FOLDER, Op

CALLS = (
    "openat,open,creat,close,dup,dup2,dup3,fcntl,write,pwrite64,writev,pwritev,pwritev2,sendfile,"
    "copy_file_range,truncate,ftruncate,fallocate,fsync,fdatasync,sync,syncfs,rename,renameat,"
    "renameat2,link,linkat,unlink,unlinkat,mkdir,mkdirat,rmdir,lseek"
)
LINE = re.compile(r"^\d+ +(\w+)\((.*)\) += (-?\d+|\?)")
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')
ACKS = "acks"
"""The file in which the traced program writes a line each time the store said "kept"."""


def traced(command: Sequence[str], trace: Path, folder: Path) -> Iterator[Op]:
    """Run a program under strace; what it did to files below `folder`, in order."""
    strace = ["strace", "-f", "-qq", "--seccomp-bpf", "-xx", "-s", "100000000", "-e",
              f"trace={CALLS}", "-o", str(trace)]  # fmt: skip
    # A file of Python's own cache written in between would be no harm, only longer.
    subprocess.run([*strace, sys.executable, *command], check=True)
    with trace.open(encoding="ascii") as lines:
        yield from Reader(folder).ops(lines)


class Reader:
    """Follows descriptors and names; paths in its operations are relative to `folder`."""

    def __init__(self, folder: Path) -> None:
        self._folder = str(folder)
        self._open: dict[int, tuple[str, int]] = {}  # path, where the next write goes
        self._append: set[int] = set()
        self._inodes: dict[str, int] = {}
        self._handles: dict[int, int] = {}  # descriptor to inode: a name may go meanwhile
        self._made = 0

    def ops(self, lines: Iterator[str]) -> Iterator[Op]:
        """The operations of a trace. Raises ValueError for a call that is not understood."""
        for line in lines:
            match = LINE.match(line)
            if match is None:
                if self._folder.encode().hex() in line.replace("\\x", ""):
                    raise ValueError(f"not understood: {line[:200]}")
                continue
            name, arguments, result = match.groups()
            if not result.startswith("-") and result != "?":
                yield from self._one(name, arguments, int(result))

    def _one(self, name: str, arguments: str, result: int) -> Iterator[Op]:
        texts = [bytes.fromhex(t.replace("\\x", "")) for t in TEXT.findall(arguments)]
        plain = [part.strip() for part in TEXT.sub("", arguments).split(",")]
        if name in ("openat", "open", "creat"):
            yield from self._opened(name, texts, plain, result)
        elif name == "close":
            self._handles.pop(int(plain[0]), None)
            self._open.pop(int(plain[0]), None)
        elif name in ("rename", "renameat", "renameat2", "link", "linkat"):
            yield from self._renamed(name, texts, plain)
        elif name in ("unlink", "unlinkat", "rmdir", "mkdir", "mkdirat"):
            yield from self._named(name, texts, plain)
        else:
            yield from self._written(name, texts, plain, result)

    def _path(self, place: str, text: bytes) -> str | None:
        """Below our folder, and relative to it; None elsewhere."""
        path = os.fsdecode(text)
        if not path.startswith("/") and place.isdecimal() and int(place) in self._open:
            path = f"{self._open[int(place)][0]}/{path}"
        elif path.startswith(f"{self._folder}/"):
            path = path[len(self._folder) + 1 :]
        else:
            return None
        return os.path.normpath(path)

    def _opened(
        self, name: str, texts: list[bytes], plain: list[str], handle: int
    ) -> Iterator[Op]:
        self._handles.pop(handle, None)
        self._open.pop(handle, None)
        path = self._path(plain[0], texts[0])
        if path is None:
            if os.fsdecode(texts[0]) == self._folder:
                self._open[handle] = (".", 0)
            return
        flags = " ".join(plain)
        self._open[handle] = (path, 0)
        if path not in self._inodes:
            self._made += 1
            self._inodes[path] = self._made
            yield Op("names", changes=((path, self._made),))
        self._handles[handle] = self._inodes[path]
        if "O_TRUNC" in flags or name == "creat":
            yield Op("length", self._inodes[path], 0)
        if "O_APPEND" in flags:
            self._append.add(handle)

    def _renamed(self, name: str, texts: list[bytes], plain: list[str]) -> Iterator[Op]:
        old_place, new_place = (plain[0], plain[2]) if name.endswith(("at", "at2")) else ("", "")
        old, new = self._path(old_place, texts[0]), self._path(new_place, texts[1])
        if old is None or new is None:
            return
        inode = self._inodes[old]
        self._inodes[new] = inode
        changes: tuple[tuple[str, int | None], ...] = ((new, inode),)
        if name.startswith("rename"):
            del self._inodes[old]
            changes = ((old, None), (new, inode))
        yield Op("names", changes=changes)

    def _named(self, name: str, texts: list[bytes], plain: list[str]) -> Iterator[Op]:
        path = self._path(plain[0], texts[0])
        if path is None:
            return
        if name.startswith("mkdir"):
            self._inodes[path] = FOLDER
            yield Op("names", changes=((path, FOLDER),))
        else:
            del self._inodes[path]
            yield Op("names", changes=((path, None),))

    def _written(
        self, name: str, texts: list[bytes], plain: list[str], result: int
    ) -> Iterator[Op]:
        handle = int(plain[0]) if plain[0].isdecimal() else -1
        if handle not in self._open:
            return
        path, at = self._open[handle]
        inode = self._handles.get(handle, FOLDER)
        if name == "lseek":
            self._open[handle] = (path, result)
        elif name in ("fsync", "fdatasync"):
            yield Op("sync_names", path=path) if inode == FOLDER else Op("sync", inode)
        elif path == ACKS:
            yield from [Op("ack")] * texts[0].count(b"\n")
        elif name == "write":
            self._open[handle] = (path, at + result)
            yield Op("write", inode, at, texts[0][:result])
        elif name == "pwrite64":
            yield Op("write", inode, int(plain[-1]), texts[0][:result])
        elif name == "ftruncate":
            yield Op("length", inode, int(plain[1]))
        elif name != "fcntl":
            raise ValueError(f"{name} of {path} is not understood")
