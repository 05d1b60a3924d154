"""Moments in logs: read when they can be read in one way, refused when in two."""

import re
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import FileRefused, shown

ELAPSED_S = {"seconds": 1.0, "minutes": 60.0}
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})[ T]+(\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?)")
_CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?")
_GROUPED = re.compile(r"\d{1,3}([.,]\d{3})+")


class Moments:
    """Reads one moment after another; remembers the last, to tell the two hours of a clock that is
    put back apart, and midnight in times without a day."""

    def __init__(self, zone: str | None, time_format: str | None, day: str | None, name: str):
        self._zone = _zone(zone)
        self._format, self._name = time_format, name
        self._day = None if day is None else _day(day)
        self._last: datetime | None = None

    def utc_ms(self, text: str, line: int) -> int:
        """UTC milliseconds of a cell. Raises FileRefused for one that is none, or two."""
        found = self._read(text.strip(), line)
        if found.tzinfo is None:
            found = self._placed(found, line)
        self._last = found.astimezone(UTC)
        return round(self._last.timestamp() * 1000)

    def began_utc_ms(self, text: str | None) -> int:
        """UTC milliseconds of when the log began. Raises InputError when nobody said."""
        if text is None:
            raise InputError("Nobody said when the log began.", 'Give --began "2026-11-25 10:00".')
        try:
            return self.utc_ms(text, 0)
        except FileRefused:
            raise InputError(
                f"--began {shown(text)} is no moment.", 'Write it like "2026-11-25 10:00".'
            ) from None

    def _read(self, text: str, line: int) -> datetime:
        if self._format is not None:
            try:
                return datetime.strptime(text, self._format)
            except ValueError:
                raise FileRefused(
                    self._name, line, "", f"the time {shown(text)} is not as --time-format says"
                ) from None
        dotted = _DOTTED.fullmatch(text)
        if dotted:  # with dots the day comes first
            day, month, year, clock = dotted.groups()
            text = f"{year}-{int(month):02d}-{int(day):02d} {_two(clock)}"
        elif _CLOCK.fullmatch(text):
            return self._on_day(text, line)
        try:
            return datetime.fromisoformat(text.replace(",", "."))
        except ValueError:
            raise FileRefused(
                self._name, line, "",
                f"the time reads {shown(text)}, which is not clear; say how with --time-format, "
                'such as "%d/%m/%Y %H:%M:%S"',
            ) from None  # fmt: skip

    def _on_day(self, text: str, line: int) -> datetime:
        """A time of day, on the day given, or the next ones after midnight."""
        if self._day is None:
            raise FileRefused(self._name, line, "", "the time has no day; give --day 2026-11-25")
        found = datetime.fromisoformat(f"{self._day.isoformat()} {_two(text.replace(',', '.'))}")
        if self._last is not None:
            before = self._last.astimezone(self._zone).replace(tzinfo=None)
            if (before - found) > timedelta(hours=12):
                self._day += timedelta(days=1)
                found += timedelta(days=1)
        return found

    def _placed(self, local: datetime, line: int) -> datetime:
        """A local time in its zone. Of an hour that comes twice the one that goes on is meant."""
        first, second = (_in_zone(local.replace(fold=fold), self._zone) for fold in (0, 1))
        if first.astimezone(UTC) > second.astimezone(UTC):
            raise FileRefused(
                self._name, line, "",
                f"{local:%Y-%m-%d %H:%M} never was: clocks were put on; is the --zone right",
            )  # fmt: skip
        if self._last is not None and first.astimezone(UTC) < self._last:
            return second
        return first


def elapsed_ms(text: str, second: float, line: int, name: str) -> int:
    """Milliseconds of a cell of seconds or minutes (`second` says which), or of h:mm:ss."""
    parts = text.split(":")
    if 1 < len(parts) <= 3 and all(re.fullmatch(r"\d+([.,]\d+)?", part) for part in parts):
        total = 0.0
        for part in parts:
            total = total * 60 + float(part.replace(",", "."))
        return round(total * (1000 if len(parts) == 3 else 60_000))
    if _GROUPED.fullmatch(text) and "," in text:
        raise FileRefused(name, line, "", f"{shown(text)} can be read in two ways; use a point")
    if not re.fullmatch(r"\d+([.,]\d+)?", text):
        raise FileRefused(name, line, "", f"the time reads {shown(text)}; write a number")
    return round(float(text.replace(",", ".")) * second * 1000)


def _zone(name: str | None) -> ZoneInfo | None:
    if name is None:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f"{shown(name)} is no zone.", "Write it like Europe/Berlin or UTC."
        ) from None


def _in_zone(local: datetime, zone: ZoneInfo | None) -> datetime:
    """In a zone, or in the computer's own."""
    if zone is not None:
        return local.replace(tzinfo=zone)
    offset = local.astimezone().utcoffset() or timedelta(0)
    return local.replace(tzinfo=timezone(offset))


def _two(clock: str) -> str:
    """ "9:05" as "09:05"."""
    return clock if clock[1].isdigit() else f"0{clock}"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{shown(text)} is not a day.", "Write it like 2026-11-25.") from None
