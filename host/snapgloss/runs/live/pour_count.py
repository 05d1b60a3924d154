"""Moulds, counted by the pedal or by a tap, and how long the chocolate stays good; an estimate."""

from pathlib import Path

from snapgloss.base.errors import InputError
from snapgloss.runs.live.kept import Kept, write_kept
from snapgloss.runs.live.moment import Pouring
from snapgloss.schedules.pouring import progress

MOULDS_MOST = 500
FIRST_S = 60
"""The pace of one mould says nothing yet about the last one."""


class PourCount:
    """The count of one batch, kept in the data folder so that a new start goes on with it."""

    def __init__(self, folder: Path, kept: Kept, good_min: float | None) -> None:
        self._folder, self.kept, self._good_min = folder, kept, good_min
        self.ready_at_s: int | None = None

    def add(self, at_s: int, by: int) -> str:
        """Count `by` moulds more, or fewer; return the sentence that is worth a note, or none."""
        kept, before = self.kept, self.kept.done
        most = kept.moulds or MOULDS_MOST
        kept.done = min(max(0, before + by), most)
        if kept.done and kept.poured_at_s < 0:
            kept.poured_at_s = at_s
        write_kept(self._folder, kept)
        if before == 0 and kept.done:
            return "Pouring began."
        if kept.moulds and kept.done == kept.moulds > before:
            return f"All {kept.moulds} moulds are filled."
        return ""

    def begin(self, run_id: int, moulds: int) -> None:
        """Begin with nothing filled, for this batch."""
        self.kept.run, self.kept.done, self.kept.poured_at_s = run_id, 0, -1
        self.kept.moulds = moulds or self.kept.moulds
        write_kept(self._folder, self.kept)

    def plan(self, moulds: int) -> None:
        """Say how many there are to fill. Raises InputError for a number that cannot be."""
        if not 0 <= moulds <= MOULDS_MOST:
            raise InputError(f"{moulds} moulds cannot be.", f"Give 1 to {MOULDS_MOST}, or 0.")
        self.kept.moulds = moulds
        self.kept.done = min(self.kept.done, moulds or MOULDS_MOST)
        write_kept(self._folder, self.kept)

    def now(self, at_s: int, batch_left_s: int | None = None) -> Pouring:
        """Return how it stands, `at_s` seconds after the batch began.

        It thickens from when it was ready, whenever the first mould is filled; nor is it good for
        longer than the rig keeps it warm (`batch_left_s`).
        """
        kept = self.kept
        began_s = kept.poured_at_s if self.ready_at_s is None else self.ready_at_s
        if self._good_min is None or began_s < 0:
            return Pouring(kept.moulds, kept.done)
        left_s = round(max(0.0, self._good_min * 60 - max(0, at_s - began_s)))
        if batch_left_s is not None:
            left_s = min(left_s, batch_left_s)
        return Pouring(kept.moulds, kept.done, left_s, self._words(at_s, left_s))

    def _words(self, at_s: int, left_s: int) -> str:
        kept = self.kept
        poured_s = at_s - kept.poured_at_s
        if not kept.moulds or not kept.done or poured_s < FIRST_S:
            return ""
        good_min = (poured_s + left_s) / 60  # both from the first mould on
        return progress(kept.moulds, kept.done, poured_s / 60, good_min).words
