"""Rows read from the pages of a damaged file one by one, without the tree that leads to them.

A page that led to others may be lost while they are whole. What a page and a record look like is
SQLite's published format (sqlite.org/fileformat2.html, sections 1.6 and 2.1). Only records are
taken whose shape is that of one of our tables and of no other; notes look as console text does.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

PAGE_BYTES = 4096
_INDEX_INNER, _INDEX_LEAF, _TABLE_LEAF = 2, 10, 13
_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
_FIRST_HEADER_BYTES = 100
_KINDS: dict[str, type] = {"int": int, "text": str, "blob": bytes}
_VERDICTS = ("sell", "seconds", "remelt")
_READING = (*("int",) * 3, "text", "int", *("int?",) * 4, *("int",) * 4)
_SHAPES = {
    "readings": _READING,
    "events": ("int", "int", "int", "text", "int", "int"),
    "run_parts": ("int", "int", "int", "int", "int?", "int"),
    "boots": ("id", "text", "int", "text", "int", "int", "int?"),
    "runs": (
        "id", *("text",) * 5, *("int",) * 4, "text", "int", "int?", "text", "int", "int?", "text",
        "text",
    ),
    "packed": (*("int",) * 5, "blob"),
    "grades": ("id", "int", "int", "text", "text", "text?", "text"),
}  # fmt: skip

Row = tuple[Any, ...]


def rows_of_pages(path: Path) -> Iterator[tuple[str, Row]]:
    """Table and row of each record that is known by its shape, in the order of the pages; a row
    may come twice, or be one that was deleted once."""
    with path.open("rb") as file:
        for number in range(path.stat().st_size // PAGE_BYTES):
            for rowid, values in _records(_page(file, number), number == 0, file):
                table = _table_of(rowid, values)
                if table is not None:
                    yield table, values if values[0] is not None else (rowid, *values[1:])


def _page(file: BinaryIO, number: int) -> bytes:
    file.seek(number * PAGE_BYTES)
    return file.read(PAGE_BYTES)


def _table_of(rowid: int | None, values: Row) -> str | None:
    for name, shape in _SHAPES.items():
        by_rowid = shape[0] == "id" or name == "packed"
        if len(shape) == len(values) and by_rowid == (rowid is not None):
            fits = all(map(_fits, values, shape))
            if fits and (name != "grades" or values[3] in _VERDICTS):
                return name
    return None


def _fits(value: object, kind: str) -> bool:
    if value is None:
        return kind == "id" or kind.endswith("?")
    return isinstance(value, _KINDS.get(kind.rstrip("?"), ()))


def _records(page: bytes, is_first: bool, file: BinaryIO) -> Iterator[tuple[int | None, Row]]:
    begin = _FIRST_HEADER_BYTES if is_first else 0
    kind = page[begin]
    if kind not in (_INDEX_INNER, _INDEX_LEAF, _TABLE_LEAF):
        return
    cells = int.from_bytes(page[begin + 3 : begin + 5], "big")
    first = begin + (12 if kind == _INDEX_INNER else 8)
    for number in range(min(cells, (len(page) - first) // 2)):
        at = int.from_bytes(page[first + 2 * number : first + 2 * number + 2], "big")
        try:
            yield _cell(page, at, kind, file)
        except (IndexError, ValueError, struct.error):
            continue  # no record: the page is damaged here


def _cell(page: bytes, at: int, kind: int, file: BinaryIO) -> tuple[int | None, Row]:
    rowid: int | None = None
    at += 4 if kind == _INDEX_INNER else 0
    length, at = _varint(page, at)
    if kind == _TABLE_LEAF:
        rowid, at = _varint(page, at)
    here = _length_here(length, kind)
    if length < 0 or at + here > len(page):
        raise ValueError("longer than its page")
    record = page[at : at + here]
    if here < length:
        record += _elsewhere(file, page[at + here : at + here + 4], length - here)
    return rowid, _values(record)


def _length_here(length: int, kind: int) -> int:
    """How much of a record lies in its own page."""
    most = PAGE_BYTES - 35 if kind == _TABLE_LEAF else (PAGE_BYTES - 12) * 64 // 255 - 23
    if length <= most:
        return length
    least = (PAGE_BYTES - 12) * 32 // 255 - 23
    fitting = least + (length - least) % (PAGE_BYTES - 4)
    return fitting if fitting <= most else least


def _elsewhere(file: BinaryIO, where: bytes, length: int) -> bytes:
    """The rest of a record, in pages each of which names the next."""
    found = b""
    while len(found) < length:
        page = _page(file, int.from_bytes(where, "big") - 1)
        if len(page) < PAGE_BYTES:
            raise ValueError("leads nowhere")
        where, found = page[:4], found + page[4:]
    return found[:length]


def _values(record: bytes) -> Row:
    end, at = _varint(record, 0)
    kinds = []
    while at < end:
        kind, at = _varint(record, at)
        kinds.append(kind)
    found = []
    for kind in kinds:
        value, at = _value(record, at, kind)
        found.append(value)
    if at != len(record):
        raise ValueError("not as long as it says")
    return tuple(found)


def _value(record: bytes, at: int, kind: int) -> tuple[Any, int]:
    if kind in (0, 8, 9):
        return (None, 0, 1)[max(0, kind - 7)], at
    if kind == 7:
        return struct.unpack_from(">d", record, at)[0], at + 8
    if kind in (10, 11):
        raise ValueError("never written")
    length = _INTEGER_BYTES.get(kind, (kind - 12) // 2)
    part = record[at : at + length]
    if len(part) != length:
        raise ValueError("cut short")
    if kind in _INTEGER_BYTES:
        return int.from_bytes(part, "big", signed=True), at + length
    return (part.decode() if kind % 2 else part), at + length


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of 1 to 9 bytes, seven bits each, and eight of the ninth; and where it ends."""
    value = 0
    for count in range(8):
        byte = data[at + count]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + count + 1
    value = value << 8 | data[at + 8]
    return value - (1 << 64 if value >= 1 << 63 else 0), at + 9
