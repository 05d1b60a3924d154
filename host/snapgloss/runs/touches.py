"""What is noted by one touch, and what of it the save-it card asks for."""

from collections.abc import Sequence

MOMENTS = {
    "knife_good": "Knife: in temper.",
    "knife_bad": "Knife: not in temper yet.",
    "thick": "Too thick.",
    "thin": "Too thin.",
    "tray": "A tray went into the cold.",
    "streaks": "Streaks seen.",
}
"""What one touch notes, by its key."""

THICK_FOR_S = 20 * 60.0
"""What was said of the chocolate counts for so long (own choice)."""
_OVER = (MOMENTS["thin"], MOMENTS["knife_good"])


class Thickness:
    """Whether a person said lately that the chocolate is thick, by the notes of a batch."""

    def __init__(self) -> None:
        self._read, self._said_at_s = 0, -THICK_FOR_S

    def is_thick(self, notes: Sequence[str], now_s: float) -> bool:
        """Take all notes so far, oldest first; those that are new were written about now."""
        for words in notes[self._read :]:
            if words == MOMENTS["thick"]:
                self._said_at_s = now_s
            elif words in _OVER:
                self._said_at_s = now_s - THICK_FOR_S
        self._read = len(notes)
        return now_s - self._said_at_s < THICK_FOR_S
