"""What a board gets: compiled files in a folder of their own, their listing, two start-up files.

Two folders take turns. `boot.py` names the one that counts; it is the last file written, so a
board is always on a whole set: the old one or the new one.
"""

import re
import zlib
from collections.abc import Mapping
from typing import Any, NamedTuple

from rigfw import codelist
from snapgloss.base.errors import InputError

FOLDERS = ("fw_a", "fw_b")
LISTING, CODE_LIST = "listing.txt", "code.txt"
HEAD = "files|1"
BOOT_FILE, MAIN_FILE = "boot.py", "main.py"
MAIN = b"from rigfw.pico import main\nmain.run()\n"
_BOOT = """\
import sys; sys.path.insert(0, "/{folder}")
from rigfw.pico import boot; boot.outputs_off()
"""
_FOLDER_IN_BOOT = re.compile(rb'sys\.path\.insert\(0, "/(fw_[ab])"\)')
BLOCK_BYTES = 4096  # what a file takes at least on the board's flash
MPY_MARK = ord("M")


class Image(NamedTuple):
    """Compiled files by their path in the folder, and the version that they are."""

    files: Mapping[str, bytes]
    version: str

    @property
    def format_no(self) -> int:
        """The byte-code format of the compiled files, from their head."""
        head = next(iter(self.files.values()))
        if head[0] != MPY_MARK or any(data[:2] != head[:2] for data in self.files.values()):
            raise InputError("The compiled files are of no one format.", "Compile them anew.")
        return head[1]

    @property
    def flash_bytes(self) -> int:
        """What the image takes of a flash in blocks of 4 KiB, its lists included."""
        sizes = [len(data) for data in self.files.values()]
        sizes += [len(self.listing()), len(self.code_list())]
        return sum(-(-size // BLOCK_BYTES) for size in sizes) * BLOCK_BYTES

    def code_list(self) -> bytes:
        """The board's own list of the files with their check sums, which it compares at boot."""
        sums = [(path, f"{zlib.crc32(data):08x}") for path, data in sorted(self.files.items())]
        # The device's own code carries no types: it also runs on MicroPython.
        make: Any = codelist.to_text
        text: str = make(sums)
        return text.encode() + b"\n"

    def listing(self) -> bytes:
        """The text beside the files: each with its size and CRC-32, and one over all that."""
        lines = [f"{HEAD}|{self.version}|{len(self.files)}"]
        for path, data in sorted(self.files.items()):
            lines.append(f"{path}|{len(data)}|{zlib.crc32(data):08x}")
        body = "\n".join(lines) + "\n"
        return body.encode() + f"{zlib.crc32(body.encode()):08x}\n".encode()


class Listed(NamedTuple):
    """What a listing says: version, and size and CRC of each file by its path."""

    version: str
    files: dict[str, tuple[int, int]]


def read_listing(data: bytes) -> Listed | None:
    """The listing of a folder on a board; None when it is missing, cut or damaged."""
    body, _, last = data.rstrip(b"\n").rpartition(b"\n")
    body += b"\n"
    if last != f"{zlib.crc32(body):08x}".encode():
        return None
    head, *lines = body.decode("ascii", "replace").splitlines()
    parts = head.split("|")
    if "|".join(parts[:2]) != HEAD or len(parts) != 4 or parts[3] != str(len(lines)):
        return None
    rows = (line.split("|") for line in lines)
    return Listed(parts[2], {path: (int(size), int(crc, 16)) for path, size, crc in rows})


def boot_text(folder: str) -> bytes:
    """The board's boot.py: the folder that counts, and every output low."""
    return _BOOT.format(folder=folder).encode()


def folder_of(boot: bytes) -> str | None:
    """The folder that a boot.py names; None for another program's, or none."""
    found = _FOLDER_IN_BOOT.search(boot)
    return found[1].decode() if found else None


def other(folder: str | None) -> str:
    """The folder whose turn it is next."""
    return FOLDERS[1] if folder == FOLDERS[0] else FOLDERS[0]
