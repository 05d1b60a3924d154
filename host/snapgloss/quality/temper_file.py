"""Tables that people and loggers write: a cooling curve, and bars that were graded."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import MAX_BYTES, FileRefused, name_of, read_text, shown
from snapgloss.base.units import c_from_f
from snapgloss.quality.temper_bands import FAULTS, GRADES, METHODS, Fault, GradedBar

MOST_ROWS = 20_000
SECONDS = {"seconds": 1.0, "second": 1.0, "sec": 1.0, "s": 1.0, "time_s": 1.0,
           "minutes": 60.0, "min": 60.0}  # fmt: skip
CELSIUS = ("celsius", "c", "°c", "degc", "sample_c", "temperature_c")
FAHRENHEIT = ("fahrenheit", "f", "°f", "degf", "sample_f", "temperature_f")
MISSING = ("", "nan", "na", "none", "-")
_SPLIT = {";": re.compile(r"\s*;\s*"), ",": re.compile(r"\s*,\s*"), "\t": re.compile(r"\s*\t\s*")}
_BLANK = re.compile(r"\s+")


class CurveTable(NamedTuple):
    """A curve as it stands in a file, nan where a reading is missing."""

    seconds: list[float]
    celsius: list[float]


class _Line(NamedTuple):
    number: int
    cells: list[str]


def read_curve(path: Path) -> CurveTable:
    """Read a curve: a row for each reading, seconds and °C; a first row may name the columns.

    Columns are separated by comma, semicolon, tab or blanks; with semicolons a decimal comma is
    read. Names: seconds or minutes; celsius or fahrenheit. Raises InputError, one sentence with
    file and line, for anything else.
    """
    name = name_of(path)
    lines = list(_lines(path, name, "a curve of an hour, one reading a second, has some 60 kB"))
    columns, rows = _columns(lines, name)
    if not rows:
        raise InputError(f"{name} has no reading.", "Give a row for each: seconds, °C.")
    if all(len(line.cells) < 2 for line in rows):
        raise FileRefused(name, rows[0].number, "", "give two columns: seconds, °C")
    seconds, celsius = [], []
    for line in rows:
        cells = [line.cells[at] if at < len(line.cells) else "" for at in columns.places]
        seconds.append(_number(cells[0], line, name, "the time") * columns.to_s)
        celsius.append(columns.to_c(_number(cells[1], line, name, "the temperature")))
    return CurveTable(seconds, celsius)


def read_bars(path: Path) -> list[GradedBar]:
    """Read graded bars: rows of set ratio, grade (sell, seconds, remelt) and, if given, method
    and faults, several joined by +.

    Raises InputError with file and line.
    """
    name = name_of(path)
    lines = list(_lines(path, name, "name a table of graded bars"))
    if lines and not _is_value(lines[0].cells[0]):
        lines = lines[1:]
    return [_bar(line, name) for line in lines]


def _bar(line: _Line, name: str) -> GradedBar:
    cells = [*line.cells, "", "", ""]
    ratio = _number(cells[0], line, name, "the set ratio")
    grade, method = cells[1].lower().replace("-", ""), cells[2].lower() or "seeded"
    if not 0 < ratio < 3:
        raise FileRefused(name, line.number, "set ratio", "write one between 0 and 3")
    known = next((one for one in GRADES if one == grade), None)
    if known is None:
        raise FileRefused(name, line.number, "grade", f"write {', '.join(GRADES)}")
    if method not in METHODS:
        raise FileRefused(name, line.number, "method", f"write {', '.join(METHODS)}")
    return GradedBar(ratio, known, method, frozenset(_faults(cells[3], line, name)))


def _faults(cell: str, line: _Line, name: str) -> Iterator[Fault]:
    for word in filter(None, (part.strip().lower() for part in cell.split("+"))):
        spelled = word.replace(" ", "_")
        found = next((one for one in FAULTS if one == spelled), None)
        if found is None:
            raise FileRefused(name, line.number, "fault", f"write {', '.join(FAULTS)}")
        yield found


def own_bars(data_folder: Path) -> list[GradedBar]:
    """Read the maker's own bars from `bars.csv` in the data folder; none where there is no file.

    Raises InputError as read_bars.
    """
    path = data_folder / "bars.csv"
    return read_bars(path) if path.exists() else []


class _Columns(NamedTuple):
    places: tuple[int, int]
    to_s: float
    to_c: Callable[[float], float]


def _columns(lines: list[_Line], name: str) -> tuple[_Columns, list[_Line]]:
    """Which column is what, by the first row; without names seconds and °C."""
    if not lines or _is_value(lines[0].cells[0]):
        return _Columns((0, 1), 1.0, float), lines
    head = [cell.lower() for cell in lines[0].cells]
    clock = next((at for at, word in enumerate(head) if word in SECONDS), None)
    heat = next((at for at, word in enumerate(head) if word in CELSIUS + FAHRENHEIT), None)
    if clock is None or heat is None:
        raise FileRefused(
            name, lines[0].number, "", "name one column seconds or minutes, and one celsius or "
            "fahrenheit"
        )  # fmt: skip
    to_c = c_from_f if head[heat] in FAHRENHEIT else float
    return _Columns((clock, heat), SECONDS[head[clock]], to_c), lines[1:]


def _lines(path: Path, name: str, usual: str) -> Iterator[_Line]:
    """The rows that are neither empty nor a comment, split into cells."""
    try:
        size = path.stat().st_size
    except (OSError, ValueError):
        size = 0  # read_text says what is the matter
    if size > MAX_BYTES:
        raise InputError(f"{name} is larger than {MAX_BYTES // 1000} kB; {usual}.")
    text = read_text(path)
    mark = next((mark for mark in ("\t", ";", ",") if mark in text), None)
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if number > MOST_ROWS:
            raise InputError(f"{name} has more than {MOST_ROWS} rows; {usual}.")
        if bare and not bare.startswith("#"):
            cells = (_SPLIT[mark] if mark else _BLANK).split(bare.replace('"', ""))
            # With another mark between columns a comma can only be a decimal one.
            yield _Line(number, [c.replace(",", ".") if mark != "," else c for c in cells])


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _is_value(text: str) -> bool:
    return _is_number(text) or text.lower() in MISSING


def _number(text: str, line: _Line, name: str, what: str) -> float:
    if text.lower() in MISSING:
        return float("nan")
    if not _is_number(text):
        raise FileRefused(name, line.number, "", f"{what} reads {shown(text)}; write a number")
    return float(text)
