"""Putting the firmware on a board, and going back: whole, checked, and never half.

The new set goes into the folder whose turn it is; every file is read back on the board and its
CRC-32 compared; only then `boot.py` names that folder, in one rename. Whatever fails before leaves
the board as it was.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

from rigfw import slots
from snapgloss.base.errors import InputError, RigError, VersionError
from snapgloss.link.board import Board
from snapgloss.rigs import board_image as images
from snapgloss.rigs.board_image import Image, Listed

Say = Callable[[str], None]

PLATFORM = "rp2"
OLDEST_MICROPYTHON = (1, 22)
TRIES = 2
RIG_LINE = "rig"  # no file: two slots, of which the newest whole one counts
SPARE_BYTES = 32_768  # schedules, progress, the rig's description
PROBES = "probes.txt"
SETTINGS = (RIG_LINE, PROBES, "proof.txt")
STILL_OLD = "The board still has what it had before."


class Settings(NamedTuple):
    """What the board is to know of its rig: text of each file, None = leave what it has."""

    rig_text: str | None = None
    probes_text: str | None = None
    proof_text: str | None = None

    def files(self) -> dict[str, bytes]:
        """Those that are to be written, by name."""
        texts = zip(SETTINGS, self, strict=True)
        return {name: text.encode() + b"\n" for name, text in texts if text is not None}


class Deployed(NamedTuple):
    """What is on the board now: version, folder, files and bytes; the folder to go back to; the
    board's own name, and which settings are again what they were before."""

    version: str
    folder: str
    file_count: int
    size_bytes: int
    back_to: str | None
    board: str = ""
    restored: tuple[str, ...] = ()


def deploy(board: Board, image: Image, settings: Settings, say: Say) -> Deployed:
    """Put an image and settings on a board that is at its prompt, and restart it.

    Raises VersionError or InputError for a board that is another kind, RigError for a full or
    failing flash, LinkError when the board stops answering. Until the last rename the board keeps
    the set that it had.
    """
    check_board(board, image)
    name = board.facts().board
    now = images.folder_of(board.read(images.BOOT_FILE))
    folder = images.other(now)
    say(f"Making room: {folder} is removed.")
    board.remove(folder)
    _check_room(board, image)
    try:
        _send(board, image, folder, say)
        listed = verified(board, folder)
    except RigError as fault:
        board.remove(folder)
        raise RigError(fault.message, f"{STILL_OLD} {fault.remedy}") from fault
    _keep_settings(board, settings, say)
    _switch(board, folder)
    board.restart()
    size_bytes = sum(size for size, _ in listed.files.values())
    return Deployed(listed.version, folder, len(listed.files), size_bytes, now, name)


def roll_back(board: Board, say: Say) -> Deployed:
    """Turn to the other set on the board, if it is whole, with the settings it had; restart."""
    board_name = board.facts().board
    now = images.folder_of(board.read(images.BOOT_FILE))
    folder = images.other(now)
    if now is None or read_listing(board, folder) is None:
        raise InputError("There is nothing to go back to on this board.", "Put firmware on it.")
    listed = verified(board, folder)
    before = tuple(name for name in SETTINGS if board.crc_of(f"{name}.old") is not None)
    for name in before:
        say(f"{name} as it was before.")
        _restore(board, name)
    _switch(board, folder)
    board.restart()
    size_bytes = sum(size for size, _ in listed.files.values())
    return Deployed(listed.version, folder, len(listed.files), size_bytes, now, board_name, before)


def check_board(board: Board, image: Image) -> None:
    """Refuse a board that cannot run the image."""
    facts = board.facts()
    version = ".".join(str(part) for part in facts.micropython)
    if facts.platform != PLATFORM:
        raise InputError(
            f"This board is of another kind: it calls itself {facts.platform}.",
            "Plug in a Raspberry Pi Pico (RP2040) with MicroPython.",
        )
    if tuple(facts.micropython) < OLDEST_MICROPYTHON:
        raise VersionError(
            f"The board has MicroPython {version}; this needs 1.22 or newer.",
            "Put a newer MicroPython on the board first.",
        )
    if facts.format_no != image.format_no:
        raise VersionError(
            f"MicroPython {version} takes compiled files of format {facts.format_no}; these have "
            f"{image.format_no}.",
            "Install the mpy-cross of the board's version, or update MicroPython.",
        )


def _check_room(board: Board, image: Image) -> None:
    free, wanted = board.facts().free_bytes, image.flash_bytes + SPARE_BYTES
    if free < wanted:
        raise RigError(
            f"The board is full: {free // 1024} kB are free, {wanted // 1024} kB are needed.",
            f"{STILL_OLD} Remove files of other programs from it.",
        )


def _send(board: Board, image: Image, folder: str, say: Say) -> None:
    made: set[str] = set()
    for number, (path, data) in enumerate(sorted(image.files.items()), 1):
        for parent in _parents(f"{folder}/{path}"):
            if parent not in made:
                board.make_folder(parent)
                made.add(parent)
        say(f"{number} of {len(image.files)}: {path}, {len(data)} bytes")
        _write_checked(board, f"{folder}/{path}", data)
    _write_checked(board, f"{folder}/{images.CODE_LIST}", image.code_list())
    _write_checked(board, f"{folder}/{images.LISTING}", image.listing())


def _parents(path: str) -> list[str]:
    parts = path.split("/")[:-1]
    return ["/".join(parts[: at + 1]) for at in range(len(parts))]


def _write_checked(board: Board, path: str, data: bytes) -> None:
    """Write, read back by size and CRC on the board, and try once more."""
    import zlib

    for _ in range(TRIES):
        board.write(path, data)
        if board.crc_of(path) == (len(data), zlib.crc32(data)):
            return
    raise RigError(
        f"{path} on the board is not what was sent.",
        "Try another cable; if it comes again, the board's flash is failing: change the board.",
    )


def read_listing(board: Board, folder: str) -> Listed | None:
    """The listing of a folder, None when it has none that is whole."""
    return images.read_listing(board.read(f"{folder}/{images.LISTING}"))


def verified(board: Board, folder: str) -> Listed:
    """The listing of a folder, every file of it compared. Raises RigError for one that differs."""
    listed = read_listing(board, folder)
    if listed is None:
        raise RigError(f"The listing in {folder} is missing or damaged.", "Put firmware on anew.")
    for path, size_and_crc in listed.files.items():
        if board.crc_of(f"{folder}/{path}") != size_and_crc:
            raise RigError(
                f"{folder}/{path} on the board is damaged.",
                "Put firmware on anew; if it comes again, change the board.",
            )
    return listed


def _keep_settings(board: Board, settings: Settings, say: Say) -> None:
    """Each file whole or not at all; the one before stays as .old for the way back."""
    files = settings.files()
    for name in SETTINGS:
        before = _present(board, name)
        if name not in files or not before:
            board.remove(f"{name}.old")  # of an earlier time: not what this set had
        if name in files:
            say(f"{name}: {files[name].decode().strip()}")
            if before:
                _write_checked(board, f"{name}.old", before)
            _put_setting(board, name, files[name])


def _present(board: Board, name: str) -> bytes:
    """What a setting is now; of the rig, the line of the newest whole slot."""
    if name != RIG_LINE:
        return board.read(name)
    found = _slots(board)
    return max(found)[1].encode() + b"\n" if found else b""


def _put_setting(board: Board, name: str, data: bytes) -> None:
    """Whole or not at all: a file by its rename, the rig's line in the slot that is not in use."""
    if name == RIG_LINE:
        generation = max((one[0] for one in _slots(board)), default=0) + 1
        slot, text = board_slot(board, generation, data.decode().strip())
        _write_checked(board, slot, text)
        return
    _write_checked(board, f"{name}.new", data)
    board.rename(f"{name}.new", name)


def _restore(board: Board, name: str) -> None:
    if name == RIG_LINE:
        _put_setting(board, name, board.read(f"{name}.old"))
        board.remove(f"{name}.old")
    else:
        board.rename(f"{name}.old", name)


def _slots(board: Board) -> list[tuple[int, str]]:
    """(generation, line) of the whole slots of the rig's description."""
    read: Any = slots.from_slot  # the device's own code carries no types
    texts = (board.read(name).decode("ascii", "replace").strip() for name in slots.FILES)
    return [one for one in map(read, texts) if one is not None]


def board_slot(board: Board, generation: int, line: str) -> tuple[str, bytes]:
    """The slot to write, and its text: never the one that holds the newest description."""
    read: Any = slots.from_slot
    make: Any = slots.to_slot
    held = [read(board.read(name).decode("ascii", "replace").strip()) for name in slots.FILES]
    ages = [one[0] if one else -1 for one in held]
    name = slots.FILES[ages.index(min(ages))]
    return name, str(make(generation, line)).encode() + b"\n"


def _switch(board: Board, folder: str) -> None:
    """main.py is the same for every set; boot.py names the folder: one rename decides."""
    for name, data in (
        (images.MAIN_FILE, images.MAIN),
        (images.BOOT_FILE, images.boot_text(folder)),
    ):
        _write_checked(board, f"{name}.new", data)
        board.rename(f"{name}.new", name)
