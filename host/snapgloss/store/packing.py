"""Readings as one block of bytes, a tenth of their size as rows.

Format 1: the byte 1, then the zlib stream of: the states as a JSON list and a line end; the number
of readings as 8 bytes; then for each column of Reading but the state its values, each as the
difference from the one before, as 8 or 4 bytes, little-endian; then the states as indices of 1
byte. A missing value is MISSING before differences are taken, which wrap around.
"""

import json
import sys
import zlib
from array import array
from collections.abc import Callable, Iterable, Sequence
from itertools import accumulate, chain, pairwise
from typing import TypeVar

from snapgloss.base.errors import StoreError
from snapgloss.base.records import Reading

FORMAT = 1
MISSING = -(2**31)
_WIDE = ("at_ms",)
_COLUMNS = tuple(name for name in Reading._fields if name != "state")
_NULLABLE = ("target_mc", "product_mc", "plate_mc", "room_mc")
_WORD = 1 << 32
Said = TypeVar("Said")


def pack(readings: Sequence[Reading]) -> bytes:
    """The readings as a block; at most 256 different states."""
    states = sorted({reading.state for reading in readings})
    parts = [json.dumps(states).encode() + b"\n", len(readings).to_bytes(8, "little")]
    for name in _COLUMNS:
        held: list[int | None] = [getattr(reading, name) for reading in readings]
        values = [MISSING if value is None else value for value in held]
        steps = [b - a for a, b in pairwise(chain((0,), values))]
        parts.append(_bytes(name, steps))
    places = {state: number for number, state in enumerate(states)}
    parts.append(bytes(places[reading.state] for reading in readings))
    return bytes([FORMAT]) + zlib.compress(b"".join(parts), 6)


def unpack(block: bytes) -> list[Reading]:
    """The readings of a block. Raises StoreError for one that is damaged or newer."""
    return _read(block, _unpacked)


def count(block: bytes) -> int:
    """How many readings a block says it has; all of it passed zlib's own check sum. Raises as
    `unpack`."""
    return _read(block, lambda data: _count(data, data.index(b"\n") + 1))


def _read(block: bytes, how: Callable[[bytes], Said]) -> Said:
    try:
        if block[0] != FORMAT:
            raise ValueError(f"format {block[0]}")
        return how(zlib.decompress(block[1:]))
    except (ValueError, IndexError, zlib.error) as problem:
        raise StoreError(
            "Packed readings cannot be read.", "Update snapgloss, or put back your last backup."
        ) from problem


def _count(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 8], "little")


def _unpacked(data: bytes) -> list[Reading]:
    end = data.index(b"\n") + 1
    states: list[str] = json.loads(data[:end])
    many, at = _count(data, end), end + 8
    columns: dict[str, Iterable[object]] = {}
    for name in _COLUMNS:
        size = many * (8 if name in _WIDE else 4)
        columns[name] = _values(name, data[at : at + size])
        at += size
    if len(data) != at + many:
        raise ValueError("not as long as it says")
    columns["state"] = [states[number] for number in data[at:]]
    return list(map(Reading._make, zip(*(columns[n] for n in Reading._fields), strict=True)))


def _bytes(name: str, steps: Sequence[int]) -> bytes:
    wide = name in _WIDE
    kept = array("q", steps) if wide else array("i", map(_wrapped, steps))
    if sys.byteorder == "big":
        kept.byteswap()
    return kept.tobytes()


def _values(name: str, data: bytes) -> list[int | None] | list[int]:
    kept = array("q" if name in _WIDE else "i")
    kept.frombytes(data)
    if sys.byteorder == "big":
        kept.byteswap()
    values = list(accumulate(kept))
    if name in _WIDE:
        return values
    if max(values, default=0) >= _WORD // 2 or min(values, default=0) <= MISSING:
        values = list(map(_wrapped, values))
    if name in _NULLABLE and MISSING in values:
        return [None if value == MISSING else value for value in values]
    return values


def _wrapped(value: int) -> int:
    """The value in 32 bits with a sign."""
    return (value + _WORD // 2) % _WORD - _WORD // 2
