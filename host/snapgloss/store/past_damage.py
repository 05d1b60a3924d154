"""Rows of a table in the order of its key, passing over what cannot be read.

Where a page is damaged SQLite ends the reading with an error. From the last key before it, further
keys are tried, in doubled steps and then by halves, until the nearest one that can be read again.
"""

import sqlite3
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Integer, Table

Key = tuple[int, ...]
LEAST, MOST_BITS = -(2**31) - 1, 52
"""Below every number that is kept, and how far the doubled steps reach: no key is longer."""
MOST_STRETCHES = 10_000
"""After so many the rest is left to the pages (`leaves`)."""


class PastDamage:
    """Reads one table of an open file; `stretches` counts what was passed over."""

    def __init__(self, raw: sqlite3.Connection, table: Table, columns: list[str]) -> None:
        self._raw, self.stretches = raw, 0
        key = key_of(table)
        names = ", ".join(f'"{name}"' for name in columns)
        self._width, self._key = len(key), ", ".join(key)
        marks = ", ".join("?" * len(key))
        place = f'FROM "{table.name}" WHERE ({self._key})'
        self._rows = f"SELECT {self._key}, {names} {place} >= ({marks}) ORDER BY {self._key}"
        self._next = f"SELECT {self._key} {place} > ({marks}) ORDER BY {self._key} LIMIT 1"

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """All that can be read, in the order of `columns`."""
        start: Key | None = (LEAST,) * self._width
        while start is not None and self.stretches < MOST_STRETCHES:
            last = start
            try:
                for row in self._raw.execute(self._rows, start):
                    last = max(last, row[: self._width])  # a damaged tree may lead back
                    yield row[self._width :]
            except sqlite3.DatabaseError:
                self.stretches += 1
            else:
                return
            start = self._after(last)

    def _after(self, last: Key) -> Key | None:
        """The nearest key after `last` from which on something can be read; None without any."""
        for place in reversed(range(self._width)):
            good = self._first_good(last, place)
            if good is not None:
                return self._peek(_moved(last, place, self._halved(last, place, good)))[1]
        return None

    def _first_good(self, last: Key, place: int) -> int | None:
        """The first doubled step in one column of the key that can be read."""
        steps = (1 << bit for bit in range(MOST_BITS))
        return next((step for step in steps if self._peek(_moved(last, place, step))[0]), None)

    def _halved(self, last: Key, place: int, good: int) -> int:
        bad = good // 2
        while good - bad > 1:
            middle = (good + bad) // 2
            if self._peek(_moved(last, place, middle))[0]:
                good = middle
            else:
                bad = middle
        return good

    def _peek(self, key: Key) -> tuple[bool, Key | None]:
        """Whether the place after a key can be read, and the key that is there."""
        try:
            return True, self._raw.execute(self._next, key).fetchone()
        except sqlite3.DatabaseError:
            return False, None


def key_of(table: Table) -> list[str]:
    """The whole numbers by which the rows of a table lie in order."""
    if table.dialect_options["sqlite"]["with_rowid"]:
        return ["rowid"]
    key: list[str] = []
    for column in table.primary_key.columns:
        if not isinstance(column.type, Integer):
            break
        key.append(column.name)
    return key


def _moved(key: Key, place: int, step: int) -> Key:
    """The key a step on in one column; what stands behind that begins again."""
    rest = (LEAST,) * (len(key) - place - 1)
    return (*key[:place], key[place] + step, *rest)
