"""Pack the readings of batches that are long over."""

import time
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from snapgloss.store.store import Store

AFTER_MS = 24 * 3600 * 1000
"""A rig keeps a quarter of an hour to be fetched; after a day nothing comes any more."""


class Packed(NamedTuple):
    """How many runs had rows to pack, and how many readings."""

    runs: int
    readings: int


def pack_old(store: "Store", now_utc_ms: int | None = None) -> Packed:
    """Pack every run that ended more than a day ago, then give the room back to the disk."""
    now_utc_ms = time.time_ns() // 1_000_000 if now_utc_ms is None else now_utc_ms
    counts = [
        store.pack_run(run.id)
        for run in store.runs(with_replaced=True)
        if run.ended_utc_ms is not None and now_utc_ms - run.ended_utc_ms > AFTER_MS
    ]
    if any(counts):
        store.give_back_room()
    return Packed(sum(count > 0 for count in counts), sum(counts))
