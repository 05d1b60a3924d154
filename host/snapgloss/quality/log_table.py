"""The table in a logger's file: where it begins, what separates its columns, and two of them."""

import csv
import io
import re
from collections.abc import Sequence
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import FileRefused, shown

MOST_ROWS = 300_000
COLUMN_DIGITS_MOST = 5
HEAD_LINES = 60  # loggers write about themselves before the table
MARKS = "\t;,"
DECIMALS_MOST = 2  # of a logger's; more digits in some rows than in others are a number


class Row(NamedTuple):
    """Two cells of a row, as text, and the number of its line."""

    line: int
    clock: str
    heat: str


class LogTable(NamedTuple):
    """The rows, and what the file calls the column of the temperature; empty without names."""

    rows: list[Row]
    heat_name: str


class _Head(NamedTuple):
    """`begin` counts lines from 0; `names` are empty where no line names the columns."""

    begin: int
    places: tuple[int, int]
    mark: str
    names: list[str]


def table_of(text: str, wanted: tuple[str, str], name: str) -> LogTable:
    """The two columns of every row under the line that names them; empty lines are left out.

    Raises InputError where there is no such table, and where a decimal comma may have made two
    cells of one number: a row has more cells than the line of names, or temperatures and what
    follows them look like halves.
    """
    lines = text.splitlines()
    head = _head(lines, wanted, name)
    found, halves = [], []
    reader = csv.reader(io.StringIO("\n".join(lines[head.begin :])), delimiter=head.mark)
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            line = head.begin + reader.line_num
            _refuse_more_cells(cells, head, line, name)
            got = [cells[at].strip() if at < len(cells) else "" for at in head.places]
            found.append(Row(line, *got))
            halves.append(_halves(cells, head))
    except csv.Error as problem:
        raise FileRefused(
            name, head.begin + reader.line_num, "", f"this is no table: {problem}"
        ) from None
    if len(found) < 2:
        raise InputError(f"{name} has fewer than two readings.", "Name a log of a batch.")
    if len(found) > MOST_ROWS:
        raise InputError(f"{name} has more than {MOST_ROWS} rows.", "Cut it to one batch.")
    _refuse_halves(halves, head, found[0].line, name)
    return LogTable(found, head.names[head.places[1]] if head.names else "")


def _refuse_more_cells(cells: Sequence[str], head: _Head, line: int, name: str) -> None:
    if head.names and _filled(cells) > _filled(head.names):
        raise FileRefused(
            name, line, "",
            f"it has {_filled(cells)} cells under {_filled(head.names)} names; where numbers have "
            "decimal commas, columns need another separator, such as semicolons, or quotes",
        )  # fmt: skip


def _filled(cells: Sequence[str]) -> int:
    """How many cells there are up to the last with something in it."""
    return max((at for at, cell in enumerate(cells, 1) if cell.strip()), default=0)


def _halves(cells: Sequence[str], head: _Head) -> tuple[str, str] | None:
    """The temperature of a row and the cell after it; None where there is no temperature."""
    after = [cell.strip() for cell in cells[head.places[1] : head.places[1] + 2]]
    return (after[0], after[1] if len(after) == 2 else "") if after and after[0] else None


def _refuse_halves(
    halves: Sequence[tuple[str, str] | None], head: _Head, line: int, name: str
) -> None:
    """Refuse a table whose numbers may have been cut in two by commas.

    Then all temperatures are whole, and digits follow them; under names one or two, or as many in
    each row, as a decimal comma leaves them in a column with nothing else in it. Noughts alone do
    no harm.
    """
    known = [pair for pair in halves if pair is not None and is_number(pair[0])]
    if head.mark != "," or not all(re.fullmatch(r"[+-]?\d+", whole) for whole, _ in known):
        return
    after = [digits for _, digits in known if digits]
    if not all(digits.isdecimal() for digits in after) or not any(map(int, after)):
        return
    widths = set(map(len, after))
    if head.names and len(widths) > 1 and max(widths) > DECIMALS_MOST:
        return
    way = "take the column after them out" if head.names else "put a line of names above"
    raise FileRefused(
        name, line, "",
        "the temperatures are whole, and whole numbers follow them: decimal commas cannot be "
        f"told from separators; use semicolons or quotes, or, if they are none, {way}",
    )  # fmt: skip


def _head(lines: Sequence[str], wanted: tuple[str, str], name: str) -> _Head:
    if all(_counts(column) for column in wanted):
        return _head_by_number(lines, (int(wanted[0]) - 1, int(wanted[1]) - 1), name)
    names = [column.strip().casefold() for column in wanted]
    for number, line in enumerate(lines[:HEAD_LINES]):
        for mark in MARKS:
            cells = [cell.casefold() for cell in _cells(line, mark)]
            first, second = (_place(one, cells) for one in names)
            if first is not None and second is not None and any(n in cells for n in names):
                return _Head(number + 1, (first, second), mark, _cells(line, mark))
    _refuse_twice(lines, wanted, name)
    raise InputError(
        f"{name} has no line with the columns {shown(wanted[0])} and {shown(wanted[1])}.",
        "Write their names as they stand in the file, or their numbers from 1.",
    )


def _refuse_twice(lines: Sequence[str], wanted: tuple[str, str], name: str) -> None:
    """Say it where both names stand in a line, one of them more than once."""
    names = [column.strip().casefold() for column in wanted]
    for line in lines[:HEAD_LINES]:
        for mark in MARKS:
            cells = [cell.casefold() for cell in _cells(line, mark)]
            twice = next((n for n in (0, 1) if cells.count(names[n]) > 1), None)
            if twice is not None and all(n in cells or _counts(n) for n in names):
                numbers = [str(at) for at, cell in enumerate(cells, 1) if cell == names[twice]]
                raise InputError(
                    f"{name} has the column {shown(wanted[twice])} {len(numbers)} times.",
                    f"Give its number instead: {' or '.join(numbers)}.",
                )


def _head_by_number(lines: Sequence[str], places: tuple[int, int], name: str) -> _Head:
    """From the first line with a number where the temperature is; its names may stand above."""
    for number, line in enumerate(lines[:HEAD_LINES]):
        for mark in MARKS:
            cells = _cells(line, mark)
            if max(places) < len(cells) and min(places) >= 0 and is_number(cells[places[1]]):
                above = next((one for one in reversed(lines[:number]) if one.strip()), "")
                names = _cells(above, mark)
                return _Head(number, places, mark, names if max(places) < len(names) else [])
    raise InputError(f"{name} has no rows with those columns.", "Count columns from 1.")


def _cells(line: str, mark: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]


def _counts(column: str) -> bool:
    """Whether a column is given by its number; `isdigit` is also true of a raised 2."""
    return column.isdecimal() and len(column) <= COLUMN_DIGITS_MOST


def _place(column: str, cells: Sequence[str]) -> int | None:
    """Where a column is by its name, which stands there once, or by its number from 1."""
    if cells.count(column) == 1:
        return list(cells).index(column)
    place = int(column) if _counts(column) else 0
    return place - 1 if column not in cells and 1 <= place <= len(cells) else None


def is_number(text: str) -> bool:
    """Whether a cell is a number, with a decimal point or a comma."""
    return re.fullmatch(r"[+-]?\d+([.,]\d+)?", text.strip()) is not None
