"""How bars mirrored the line card and how they snapped: entries that are only ever added."""

from typing import Any, NamedTuple

from sqlalchemy import BigInteger, Boolean, Column, Float, ForeignKey, Integer, Table, Text

from snapgloss.store.ground import OpenRecord
from snapgloss.store.tables import METADATA


def _entries(name: str, when: str, file: str, *figures: str) -> Table:
    numbers: list[Column[Any]] = [Column(figure, Float, nullable=False) for figure in figures]
    return Table(
        name,
        METADATA,
        Column("id", Integer, primary_key=True),
        Column("run_id", Integer, ForeignKey("runs.id"), nullable=False, index=True),
        Column(when, BigInteger, nullable=False),
        Column("kept", Boolean, nullable=False),
        Column("way", Integer, nullable=False),
        *numbers,
        Column(file, Text, nullable=False),
    )


GLOSSES = _entries("glosses", "seen_utc_ms", "photo", "sharpness", "mirrored")
SNAPS = _entries("snaps", "heard_utc_ms", "sound", "loudness_db", "centroid_hz")


class GlossRow(NamedTuple):
    """One photo of the line card in a bar; figures as in snapgloss.quality.gloss.

    `kept`: the bar is the maker's kept one, which others are compared with. `way` is the number of
    the reckoning: other ways give figures that cannot be compared. `photo` in the data folder.
    """

    id: int
    run_id: int
    seen_utc_ms: int
    kept: bool
    way: int
    sharpness: float
    mirrored: float
    photo: str


class SnapRow(NamedTuple):
    """One recorded snap; figures as in snapgloss.quality.snap_sound, else as in GlossRow."""

    id: int
    run_id: int
    heard_utc_ms: int
    kept: bool
    way: int
    loudness_db: float
    centroid_hz: float
    sound: str


class GlossBook(OpenRecord):
    """The part of the store that keeps gloss and snap."""

    def add_gloss(
        self, run_id: int, kept: bool, way: int, sharpness: float, mirrored: float, photo: str
    ) -> None:
        """Keep what a photo said."""
        row = {"sharpness": sharpness, "mirrored": mirrored, "photo": photo}
        self._enter(GLOSSES, run_id, "seen_utc_ms", [{"kept": kept, "way": way, **row}])

    def add_snap(
        self, run_id: int, kept: bool, way: int, loudness_db: float, centroid_hz: float, sound: str
    ) -> None:
        """Keep what a sound said."""
        row = {"loudness_db": loudness_db, "centroid_hz": centroid_hz, "sound": sound}
        self._enter(SNAPS, run_id, "heard_utc_ms", [{"kept": kept, "way": way, **row}])

    def glosses(self, run_id: int | None = None) -> list[GlossRow]:
        """The photos of one run, or of all, oldest first."""
        return [GlossRow(*row) for row in self._entered(GLOSSES, run_id)]

    def snaps(self, run_id: int | None = None) -> list[SnapRow]:
        """The sounds of one run, or of all, oldest first."""
        return [SnapRow(*row) for row in self._entered(SNAPS, run_id)]
