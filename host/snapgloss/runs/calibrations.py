"""The record of calibrations, by probe: the last one of each is what the board is told.

A DS18B20 is known by its number, so a probe that was swapped has no calibration and says so. A
thermistor or platinum probe is known by its channel alone: swapping it goes unnoticed.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.rigs.calibration import DUE_DAYS, Calibration, Point, calibrate
from snapgloss.rigs.probe_list import ProbeEntry, entry
from snapgloss.store import sheets

FILE = "calibrations.txt"
DAY_MS = 24 * 3600 * 1000
BY_NUMBER = "ds18b20"


class Calibrated(NamedTuple):
    """A probe's last calibration, and how old it is."""

    kind: str
    calibration: Calibration
    name: str
    at_utc_ms: int
    age_days: float

    @property
    def is_due(self) -> bool:
        """True when it should be done again."""
        return self.age_days >= DUE_DAYS


class Calibrations:
    """The record in a data folder. Raises StoreError."""

    def __init__(self, data: Path, now_utc_ms: Callable[[], int]) -> None:
        self.path = data / FILE
        self._now_utc_ms = now_utc_ms

    def keep(self, kind: str, points: list[Point], name: str) -> Calibrated:
        """Calibrate a probe and write it down. Raises InputError."""
        found = calibrate(points)
        probe = entry(kind, found.offset_mk, found.slope_e5)
        at_utc_ms = self._now_utc_ms()
        row: dict[str, Any] = {
            "kind": probe.kind,
            "at_utc_ms": at_utc_ms,
            "name": name,
            "points": [list(point) for point in points],
        }
        sheets.append(self.path, row)
        return Calibrated(kind, found, name, at_utc_ms, 0.0)

    def last(self, kind: str) -> Calibrated | None:
        """The last calibration of a probe; None when it has none."""
        rows = self._rows(kind)
        return self._calibrated(rows[-1]) if rows else None

    def of(self, kind: str, at_utc_ms: int) -> Calibrated | None:
        """The calibration of a probe that was made at that moment; None when it is not here."""
        rows = [row for row in self._rows(kind) if row["at_utc_ms"] == at_utc_ms]
        return self._calibrated(rows[-1]) if rows else None

    def _rows(self, kind: str) -> list[dict[str, Any]]:
        return [row for row in sheets.read(self.path) if row["kind"] == kind]

    def _calibrated(self, row: dict[str, Any]) -> Calibrated:
        found = calibrate([Point(*point) for point in row["points"]])
        age_days = max(0.0, (self._now_utc_ms() - row["at_utc_ms"]) / DAY_MS)
        return Calibrated(row["kind"], found, row["name"], row["at_utc_ms"], age_days)

    def reader(self, kind: str) -> Callable[[float], float]:
        """What gives a probe's own reading from what the rig shows. Raises InputError without a
        calibration: then both are the same, and somebody is mistaken about the rig."""
        last = self.last(kind)
        if last is None:
            raise InputError(
                f"{kind} has no calibration in this record.",
                "Give its readings without --as-shown.",
            )
        return last.calibration.read_c

    def probe(self, kind: str) -> tuple[ProbeEntry, str]:
        """A probe as the board is told of it, and a sentence on its calibration."""
        last = self.last(kind)
        if last is None:
            return entry(kind), f"{kind}: never calibrated; it may be 0.5 °C off."
        found = last.calibration
        words = f"{kind}: calibrated {last.age_days:.0f} days ago at {len(found.points)} points."
        if last.is_due:
            words += " Do it again: half a year is over."
        if not kind.startswith(BY_NUMBER):
            words += " It is known by its channel: after a swap calibrate anew."
        return entry(kind, found.offset_mk, found.slope_e5), words
