"""The save-it card of a batch under way, worked out now and then from the record."""

from typing import TYPE_CHECKING

from snapgloss.quality.save_it_run import card_of_run
from snapgloss.runs.touches import Thickness

if TYPE_CHECKING:
    from snapgloss.store.store import Store

EVERY_S = 10.0  # wall time: a card is for a person, and a whole batch is read for it


class LiveCard:
    """Looks every EVERY_S; what it says is new only when another card applies."""

    def __init__(self, store: "Store", now_s: float, fahrenheit: bool) -> None:
        self._store, self._fahrenheit = store, fahrenheit
        self._looked_at_s = now_s
        self._key, self._thickness = "", Thickness()
        self.words = ""

    def is_due(self, now_s: float) -> bool:
        """True when it is time to look again."""
        return now_s - self._looked_at_s >= EVERY_S

    def look(self, run_id: int, now_s: float) -> str:
        """Return the words of a card that did not apply at the last look, or nothing."""
        self._looked_at_s = now_s
        notes = [note.words for note in self._store.notes(run_id)]
        thick = self._thickness.is_thick(notes, now_s)
        card = card_of_run(self._store, run_id, thick, self._fahrenheit)
        key, known = (card.key if card else ""), self._key
        self._key = key
        self.words = f"{card.what} {card.now}" if card else ""
        return self.words if key != known else ""
