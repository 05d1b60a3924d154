"""Temperature logs of any logger: a person says which column is what, and nothing is guessed."""

import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import FileRefused, name_of, shown
from snapgloss.base.units import c_from_f
from snapgloss.quality.log_doubts import clock_doubt, spread
from snapgloss.quality.log_scale import refuse_impossible, refuse_no_chocolate, refuse_other_unit
from snapgloss.quality.log_table import Row, is_number, table_of
from snapgloss.quality.log_times import ELAPSED_S, Moments, elapsed_ms
from snapgloss.quality.spans import logged_gap_over_ms
from snapgloss.quality.words import show_minutes

MOST_BYTES = 30_000_000
MISSING = ("", "-", "--", "---", "nan", "na", "n/a", "null", "none", "err", "error", "open")
LONGEST_H = 48
GAP_ASKED_MS, GAP_TIMES = 30 * 60_000, 10
"""A pause longer than half an hour and ten usual distances may be a clock that jumped."""


@dataclass(frozen=True)
class LogColumns:
    """Which column is what, by its name in the file or its number from 1.

    One of `celsius` and `fahrenheit`; one of `time`, `seconds` and `minutes`, the last two since
    some start, which `began` (a moment as text) puts into the day. `time_format` is one of
    strptime; without it only ways to write a time that can be read in one way are taken. `zone` is
    such as Europe/Berlin; the computer's own when None. `day` goes before times without one.
    `gaps`: the person says that the logger was off in a long pause, and its clock right.
    """

    celsius: str | None = None
    fahrenheit: str | None = None
    time: str | None = None
    seconds: str | None = None
    minutes: str | None = None
    time_format: str | None = None
    zone: str | None = None
    day: str | None = None
    began: str | None = None
    gaps: bool = False


class Log(NamedTuple):
    """A log as read: milliseconds since its first reading, milli-degC, None where missing.

    `doubts`: a sentence to keep with the batch, on times that are not sure; else empty.
    `unsure_ms`: where its clock may first have jumped, so that no figure is sure; else None.
    """

    began_utc_ms: int
    at_ms: list[int]
    product_mc: list[int | None]
    check_sum: int
    cautions: list[str]
    doubts: str = ""
    unsure_ms: int | None = None


def read_log(path: Path, columns: LogColumns) -> Log:
    """Read a log. Raises InputError, a sentence with file and line, for what is not clear."""
    name = name_of(path)
    data = _bytes(path, name)
    clock = _one(("time", "seconds", "minutes"), columns, "when")
    heat = _one(("celsius", "fahrenheit"), columns, "how warm")
    moments = Moments(columns.zone, columns.time_format, columns.day, name)
    fahrenheit = heat == "fahrenheit"
    table = table_of(_text(data, name), (getattr(columns, clock), getattr(columns, heat)), name)
    rows = table.rows
    refuse_other_unit(table.heat_name, fahrenheit, name)
    values = [_value(row, fahrenheit, name) for row in rows]
    refuse_impossible(values, rows, fahrenheit, name)
    product_mc = [None if value is None else _mc(value, fahrenheit) for value in values]
    refuse_no_chocolate(product_mc, fahrenheit, name)
    if clock == "time":
        utc_ms = [moments.utc_ms(row.clock, row.line) for row in rows]
    else:
        begun_ms = moments.began_utc_ms(columns.began)
        utc_ms = [begun_ms + elapsed_ms(row.clock, ELAPSED_S[clock], row.line, name)
                  for row in rows]  # fmt: skip
    _forwards(utc_ms, rows, name)
    utc_ms, spread_words = spread(utc_ms)
    if not columns.gaps:
        _no_jump(utc_ms, rows, name)
    at_ms = [ms - utc_ms[0] for ms in utc_ms]
    jumped = clock_doubt(at_ms, product_mc, columns.gaps)
    doubts = " ".join(words for words in (spread_words, jumped.words) if words)
    cautions = _cautions(at_ms, product_mc)
    return Log(
        utc_ms[0], at_ms, product_mc, zlib.crc32(data), cautions, doubts, jumped.at_ms
    )  # fmt: skip


def _one(names: Sequence[str], columns: LogColumns, what: str) -> str:
    given = [name for name in names if getattr(columns, name) is not None]
    if len(given) != 1:
        raise InputError(f"Name one column that says {what}.", f"Give --{' or --'.join(names)}.")
    return given[0]


def _bytes(path: Path, name: str) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{name} is larger than {MOST_BYTES // 10**6} MB.", "Cut it.")
        return path.read_bytes()
    except OSError as problem:
        raise InputError(
            f"{name} cannot be read: {problem.strerror}.", "Name a file."
        ) from problem


def _text(data: bytes, name: str) -> str:
    """UTF-8, UTF-16 with its mark, or else Windows-1252, in which loggers write a degree sign."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data:
        raise InputError(f"{name} is no text.", "Save the log as CSV.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _value(row: Row, fahrenheit: bool, name: str) -> float | None:
    """The number of a cell; a decimal comma is read, a sign of degrees is left out."""
    bare = re.sub(r"\s*°?\s*[CF]?$", "", row.heat, flags=re.IGNORECASE).strip()
    if row.heat.lower() in MISSING or bare.lower() in MISSING:
        return None
    _refuse_other_scale(row, fahrenheit, name)
    if not is_number(bare):
        raise FileRefused(name, row.line, "", f"the temperature reads {shown(row.heat)}")
    return float(bare.replace(",", "."))


def _mc(value: float, fahrenheit: bool) -> int:
    return round((c_from_f(value) if fahrenheit else value) * 1000)


def _refuse_other_scale(row: Row, fahrenheit: bool, name: str) -> None:
    said = re.search(r"\d\s*°?\s*([CF])$", row.heat, flags=re.IGNORECASE)
    if said and (said[1].lower() == "f") != fahrenheit:
        raise FileRefused(name, row.line, "", f"{shown(row.heat)} is in the other scale")


def _forwards(utc_ms: Sequence[int], rows: Sequence[Row], name: str) -> None:
    for number, (before_ms, ms) in enumerate(pairwise(utc_ms), 1):
        if ms < before_ms:
            raise FileRefused(
                name, rows[number].line, "",
                f"the time goes back from {rows[number - 1].clock} to {rows[number].clock}; cut "
                "the log there, or give its --zone if clocks were put back",
            )  # fmt: skip
    if utc_ms[-1] - utc_ms[0] > LONGEST_H * 3_600_000:
        raise InputError(
            f"{name} goes over more than {LONGEST_H} h.",
            "Cut it to one batch: a clock may have jumped.",
        )
    if utc_ms[-1] == utc_ms[0]:
        raise InputError(f"{name} has one moment only.", "Name the column that says when.")


def _no_jump(utc_ms: Sequence[int], rows: Sequence[Row], name: str) -> None:
    steps_ms = [b - a for a, b in pairwise(utc_ms)]
    longest_ms = max(steps_ms)
    if longest_ms <= max(GAP_ASKED_MS, GAP_TIMES * median(filter(None, steps_ms))):
        return
    at = steps_ms.index(longest_ms) + 1
    raise FileRefused(
        name, rows[at].line, "",
        f"there is no reading for {show_minutes(longest_ms / 60_000)} before {rows[at].clock}; "
        "say --gaps if the logger was off, or put the times right if its clock jumped",
    )  # fmt: skip


def _cautions(at_ms: Sequence[int], product_mc: Sequence[int | None]) -> list[str]:
    steps_ms = [b - a for a, b in pairwise(at_ms)]
    over_ms = logged_gap_over_ms(at_ms)
    gaps = [(step, at) for step, at in zip(steps_ms, at_ms, strict=False)
            if step > over_ms]  # fmt: skip
    found = []
    if gaps:
        longest_ms, at = max(gaps)
        found.append(
            f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''}; the longest is "
            f"{show_minutes(longest_ms / 60_000)}, {show_minutes(at / 60_000)} after the start."
        )
    missing = sum(mc is None for mc in product_mc)
    if missing:
        found.append(f"{missing} of {len(product_mc)} rows have no temperature.")
    return found
