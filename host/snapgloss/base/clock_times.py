"""Times of day as people write them: "10:00", "9:30 am"; minutes since midnight inside."""

import re

from snapgloss.base.errors import InputError

DAY_MIN = 24 * 60
_TIME = re.compile(r"\s*(\d{1,2}):(\d{2})\s*(am|pm)?\s*", re.IGNORECASE)


def minute_of_day(text: str) -> int:
    """Return 0..1439 for "10:00", "9:30 am" or "14:05"; InputError for anything else."""
    match = _TIME.fullmatch(text)
    if match:
        hour, minute, half = int(match[1]), int(match[2]), (match[3] or "").lower()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "pm" else 0)
            half = ""
        if hour < 24 and minute < 60 and not half:
            return hour * 60 + minute
    shown = "".join(c if c.isprintable() else "?" for c in text[:40])
    raise InputError(f'"{shown}" is not a time of day.', "Write it like 10:00 or 9:30 am.")


def show_time(minute: float) -> str:
    """Return "08:15" for minutes since midnight, to the minute; "the day before" and the like."""
    day, rest = divmod(round(minute), DAY_MIN)
    shown = f"{rest // 60:02d}:{rest % 60:02d}"
    if day == 0:
        return shown
    if day in (-1, 1):
        return f"{shown} the day {'before' if day < 0 else 'after'}"
    return f"{shown}, {abs(day)} days {'before' if day < 0 else 'after'}"
