"""From the link to the record, in few and small transactions."""

import contextlib
from collections.abc import Iterable
from typing import TYPE_CHECKING

from snapgloss.base.errors import StoreError
from snapgloss.base.records import Event, Reading
from snapgloss.link.decode import Record
from snapgloss.link.streams import Gap

if TYPE_CHECKING:
    from snapgloss.store.store import Store

MOST_READINGS = 200  # of one transaction
MOST_S = 0.5  # what a crash of the host may cost, besides what the rig still keeps


class Recorder:
    """Keeps what one boot of a rig told."""

    def __init__(self, store: "Store", boot_id: int, now_s: float) -> None:
        self._store, self.boot_id = store, boot_id
        with contextlib.suppress(StoreError):  # a record that is held is only slower
            store.take_room()
        self._readings: list[Reading] = []
        self._events: list[Event] = []
        self._gaps: list[Gap] = []
        self._flushed_at_s = now_s

    def add(self, record: Record) -> None:
        """Take a record; a status is not kept."""
        if isinstance(record, Reading):
            self._readings.append(record)
        elif isinstance(record, Event):
            self._events.append(record)
        elif isinstance(record, Gap):
            self._gaps.append(record)

    def add_all(self, records: Iterable[Record]) -> None:
        """Take records that nobody has to be told about."""
        for record in records:
            self.add(record)

    def is_due(self, now_s: float) -> bool:
        """True when enough has come or enough time has passed."""
        return len(self._readings) >= MOST_READINGS or now_s - self._flushed_at_s >= MOST_S

    def flush(self, now_s: float) -> None:
        """Write all that was added. Called twice for the same records it writes them once.

        After a StoreError all of it is still here, for another try.
        """
        self._flushed_at_s = now_s
        last = max(len(self._readings) - 1, 0) // MOST_READINGS * MOST_READINGS
        for first in range(0, last, MOST_READINGS):
            self._store.add_readings(self.boot_id, self._readings[first : first + MOST_READINGS])
        # One transaction, for each waits for the disk.
        self._store.add_told(self.boot_id, self._readings[last:], self._events, self._gaps)
        self._readings, self._events, self._gaps = [], [], []

    def keep_console(self, text: str) -> None:
        """Write console text, if there is any."""
        if text.strip():
            self._store.add_console(self.boot_id, text)
