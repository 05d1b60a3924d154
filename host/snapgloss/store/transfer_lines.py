"""A row as one line of text, written alike by SQLite and by PostgreSQL: so both can be summed.

The lines are those that PostgreSQL takes for a copy in text form: columns between tabs, `\\N` for
NULL, a backslash before what would be mistaken (its manual, "COPY", "Text Format"). A figure that
is no whole number is summed by the eight bytes it is held in.
"""

import hashlib
import math
import sqlite3
import struct
from collections.abc import Iterable
from itertools import groupby

from sqlalchemy import Boolean, Column, Float, Integer, LargeBinary, Table, Text

_ESCAPED = (("\\", "\\\\"), ("\t", "\\t"), ("\n", "\\n"), ("\r", "\\r"))
_DIGEST_BYTES = 7
NO_NUL = "\ufffd"
"""Stands for the character 0, which PostgreSQL keeps in no text."""


def has_floats(table: Table) -> bool:
    """Whether a line to copy and a line to sum are two."""
    return any(isinstance(column.type, Float) for column in table.columns)


def sqlite_line(table: Table, to_sum: bool) -> str:
    """SQL of a row's line in SQLite, to copy or to sum; needs `teach_floats`."""
    floats = "float_bytes" if to_sum else "float_text"
    pieces = []
    for is_whole, columns in groupby(table.columns, _is_whole):
        written = [_sqlite(column, floats) for column in columns]
        # Twice as quick, and only for whole numbers: it ends a text at a character 0.
        formats = "\t".join(["%s"] * len(written))
        pieces += [f"printf('{formats}', {', '.join(written)})"] if is_whole else written
    return " || char(9) || ".join(pieces)


def _is_whole(column: Column[object]) -> bool:
    return isinstance(column.type, Integer)


def server_line(table: Table) -> str:
    """SQL of a row's line to sum in PostgreSQL."""
    return f"concat_ws(chr(9), {', '.join(_server(column) for column in table.columns)})"


def server_sum(table: Table) -> str:
    """SQL of number of rows and sum of lines in PostgreSQL; see `sum_of`."""
    digits = 2 * _DIGEST_BYTES
    digest = f"('x' || left(md5({server_line(table)}), {digits}))::bit({4 * digits})::bigint"
    return f"count(*), coalesce(sum({digest}), 0)"


def sum_of(lines: Iterable[str]) -> int:
    """The sum of the first 56 bits of each line's MD5: against mishap, not against forgery."""
    return sum(
        int.from_bytes(hashlib.md5(line.encode(), usedforsecurity=False).digest()[:_DIGEST_BYTES])
        for line in lines
    )


def teach_floats(connection: sqlite3.Connection) -> None:
    """Give SQLite the words of figures that are no whole numbers; its own have 15 digits."""
    connection.create_function("float_text", 1, _float_text, deterministic=True)
    connection.create_function("float_bytes", 1, _float_bytes, deterministic=True)


def _float_text(value: float | None) -> str:
    if value is None:
        return "\\N"
    return (
        repr(float(value)) if math.isfinite(value) else ("Infinity" if value > 0 else "-Infinity")
    )


def _float_bytes(value: float | None) -> str:
    return "\\N" if value is None else struct.pack(">d", value).hex()


def _sqlite(column: Column[object], floats: str) -> str:
    name = f'"{column.name}"'
    if isinstance(column.type, Float):
        return f"{floats}({name})"
    if isinstance(column.type, Boolean):
        return f"iif({name}, 't', 'f')"
    if isinstance(column.type, LargeBinary):
        return f"'\\\\x' || lower(hex({name}))"
    if isinstance(column.type, Text):
        name = _replaced(name, "char")
    return f"ifnull({name}, '\\N')" if column.nullable else name


def _server(column: Column[object]) -> str:
    name = f'"{column.name}"'
    if isinstance(column.type, Float):
        return f"coalesce(encode(float8send({name}), 'hex'), '\\N')"
    if isinstance(column.type, Boolean):
        return f"CASE WHEN {name} THEN 't' ELSE 'f' END"
    if isinstance(column.type, LargeBinary):
        return f"'\\\\x' || encode({name}, 'hex')"
    text = _replaced(name, "chr") if isinstance(column.type, Text) else name
    return f"coalesce({text}::text, '\\N')" if column.nullable else text


def _replaced(sql: str, char: str) -> str:
    for plain, escaped in _ESCAPED:
        sql = f"replace({sql}, {char}({ord(plain)}), '{escaped}')"
    return sql
