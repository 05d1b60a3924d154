"""Photos of bars: decoded to see that they are some, kept in the data folder under our name."""

import io
import re
import struct
import warnings
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
_DECODERS = {"jpg": "JPEG", "png": "PNG", "webp": "WEBP"}
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
    if not (_has_picture(content) if kind == "heic" else _can_be_seen(content, kind)):
        raise InputError(
            f"{where} begins as a photo, and is none that can be seen.",
            "Copy it again, or take another.",
        )
    return kind


def _can_be_seen(content: bytes, kind: str) -> bool:
    """Whether it can be decoded to its end; a large JPEG at an eighth of its size, soon. Pillow
    takes no more than 179 million pixels: a bomb would eat all memory."""
    from PIL import Image

    faults = (OSError, SyntaxError, ValueError, EOFError, struct.error)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(content), formats=[_DECODERS[kind]]) as picture:
                picture.draft("L", (64, 64))
                picture.load()
        except (*faults, Image.DecompressionBombError):  # what decoders raise for what is none
            return False
    return True


def _has_picture(content: bytes) -> bool:
    """Whether a HEIC file is whole: its boxes follow one another to the end, with a list of what
    is in it and the thing itself (ISO/IEC 14496-12, 4.2, from memory). Nothing here decodes it."""
    at, found = 0, set()
    while at + 8 <= len(content):
        size, name = struct.unpack_from(">I4s", content, at)
        if size == 1 and at + 16 <= len(content):
            (size,) = struct.unpack_from(">Q", content, at + 8)
        size = size or len(content) - at
        if size < 8:
            return False
        found.add(name)
        at += size
    return at == len(content) and {b"meta", b"mdat"} <= found
