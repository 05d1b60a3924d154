"""Which batch a sample in the cold belongs to, when the batch itself is over already."""

import time
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.runs.sample_words import SampleWords, about_of_run

if TYPE_CHECKING:
    from snapgloss.base.records import Sample
    from snapgloss.link.client import RigLink
    from snapgloss.store.store import Store

RECENT_MS = 3 * 3600 * 1000
"""A tube that is filled later is of no batch of this record (own choice)."""


class SampleRun:
    """The sample probe while no batch is under way; curves go to the batch that was last."""

    def __init__(self, run_id: int, words: SampleWords, since_utc_ms: int) -> None:
        self.run_id, self.words, self._since_utc_ms = run_id, words, since_utc_ms

    def take(self, sample: "Sample", link: "RigLink") -> None:
        """Take a sample; a curve that is done is kept with the batch, if that is not long ago."""
        is_recent = _now_ms() - self._since_utc_ms <= RECENT_MS
        self.words.take(sample, link, self.run_id if is_recent else None)


def sample_run(
    folder: Path, store: "Store", simulated: bool, words: SampleWords | None = None
) -> SampleRun | None:
    """Return that of the newest batch; None without one. `words`: those of the batch itself."""
    run = next((one for one in store.runs() if one.simulated == simulated), None)
    if run is None:
        return None
    try:
        words = words or SampleWords(folder, about_of_run(run), store)
    except InputError:
        return None
    return SampleRun(run.id, words, run.ended_utc_ms or run.started_utc_ms)


def _now_ms() -> int:
    return time.time_ns() // 1_000_000
