"""Trays of bars: which are in the refrigerator, and for how long they were."""

from collections.abc import Sequence
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.store.rows import TrayRow

LOOK_AFTER_MIN = 15
"""Look underneath: evenly pale is released. Common practice, no source."""


class Tray(NamedTuple):
    """A tray by its number; when it went in and came out, UTC ms, None where nobody said."""

    tray_no: int
    in_utc_ms: int
    out_utc_ms: int | None

    @property
    def minutes(self) -> int | None:
        """How long it was in, to the nearest minute; None while it is."""
        out_utc_ms = self.out_utc_ms
        return None if out_utc_ms is None else round((out_utc_ms - self.in_utc_ms) / 60_000)


def trays_of(rows: Sequence[TrayRow]) -> list[Tray]:
    """The trays of a run by number; of two entries about the same the later one counts."""
    last = {(row.tray_no, row.place): row.moved_utc_ms for row in rows}
    numbers = sorted(number for number, place in last if place == "in")
    return [Tray(number, last[number, "in"], last.get((number, "out"))) for number in numbers]


def which(trays: Sequence[Tray], place: str) -> int:
    """The tray that is meant when nobody says: the next to go in, the longest in to come out.

    Raises InputError when none is in.
    """
    if place == "in":
        return max((tray.tray_no for tray in trays), default=0) + 1
    inside = [tray for tray in trays if tray.out_utc_ms is None]
    if not inside:
        raise InputError("No tray is in.", "Say which went in first: snapgloss tray N in.")
    return min(inside, key=lambda tray: tray.in_utc_ms).tray_no


def check_move(trays: Sequence[Tray], tray_no: int, place: str, moved_utc_ms: int) -> None:
    """Raises InputError for a tray that came out before it went in, or never went in."""
    held = next((tray for tray in trays if tray.tray_no == tray_no), None)
    if held is None and place == "in":
        return
    if held is None:
        raise InputError(f"Tray {tray_no} never went in.", "Say that it did: snapgloss tray N in.")
    in_ms, out_ms = held.in_utc_ms, held.out_utc_ms
    if place == "out" and moved_utc_ms <= in_ms:
        raise InputError(f"Tray {tray_no} would be out before it was in.", "Give --ago anew.")
    if place == "in" and out_ms is not None and moved_utc_ms >= out_ms:
        raise InputError(
            f"Tray {tray_no} is out already.",
            f"Give the new tray its own number, such as --tray {which(trays, 'in')}.",
        )
