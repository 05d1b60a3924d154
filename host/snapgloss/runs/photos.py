"""Photos of bars: checked by how they begin, kept in the data folder under a name of ours."""

import re
import zlib
from collections.abc import Sequence
from pathlib import Path

from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.textfiles import replace, shown_path

PHOTO_MOST_BYTES = 30_000_000
FOLDER = "photos"
# How the usual kinds of photo begin.
_KINDS = ((b"\xff\xd8\xff", 0, "jpg"), (b"\x89PNG\r\n\x1a\n", 0, "png"),
          (b"WEBP", 8, "webp"), (b"ftyphei", 4, "heic"))  # fmt: skip
MEDIA_TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp", "heic": "image/heic"}
_OURS = re.compile(FOLDER + r"/run-[0-9]+-[0-9a-f]{8}\.(?P<kind>jpg|png|webp|heic)")


def read_photo(photo: Path) -> bytes:
    """Return a file's content. Raises InputError for one that cannot be read or is no photo."""
    try:
        content = photo.read_bytes() if photo.stat().st_size <= PHOTO_MOST_BYTES else b""
    except OSError as problem:
        raise InputError(
            f"{shown_path(photo)} cannot be read: {problem.strerror}.", "Name a photo."
        ) from problem
    _kind_of(content, shown_path(photo))
    return content


def keep_photo(content: bytes, run_id: int, data_folder: Path) -> str:
    """Keep a photo of a run's bars and return its path in the data folder.

    Raises InputError for what is no photo or too large, StoreError when it cannot be kept.
    """
    kind = _kind_of(content, "This file")
    name = f"{FOLDER}/run-{run_id}-{zlib.crc32(content):08x}.{kind}"
    try:
        (data_folder / FOLDER).mkdir(parents=True, exist_ok=True)
        replace(data_folder / name, content)
    except OSError as problem:
        raise StoreError(
            f"The photo cannot be kept in {shown_path(data_folder)}: {problem.strerror}.",
            "Make room, or leave the photo out.",
        ) from problem
    return name


def photo_kept(names: Sequence[str], number: int, data_folder: Path) -> tuple[bytes, str]:
    """Return the photo `number` (from 1) of those the record names, and its media type.

    Raises InputError for one that is not there any more, or whose name is none of ours.
    """
    name = names[number - 1] if 0 < number <= len(names) else ""
    ours = _OURS.fullmatch(name)
    path = data_folder / name
    if ours is None or not path.is_file():
        raise InputError("There is no such photo.", "")
    return path.read_bytes(), MEDIA_TYPES[ours["kind"]]


def _kind_of(content: bytes, where: str) -> str:
    kind = next((end for begin, at, end in _KINDS if content[at:].startswith(begin)), None)
    if kind is None or len(content) > PHOTO_MOST_BYTES:
        raise InputError(
            f"{where} is no photo, or larger than 30 MB.",
            "Name a JPEG, PNG, WebP or HEIC file.",
        )
    return kind
