"""Graded batches for the map of a window. Invented."""

import numpy as np

from snapgloss.quality.window import Tried


def batch(low_c: float, work_c: float, good: bool, dwell_s: float | None = 300.0) -> Tried:
    """A graded batch."""
    return Tried(1, low_c, work_c, dwell_s, good)


def drawn(count: int, seed: int = 3, flipped: float = 0.12) -> list[Tried]:
    """Batches all about a window of 27.2 to 28.2 and 31.2 to 32.2, some grades flipped."""
    random = np.random.default_rng(seed)
    found = []
    for low_c, work_c in random.normal((27.7, 31.7), 0.7, (count, 2)):
        good = abs(low_c - 27.7) <= 0.5 and abs(work_c - 31.7) <= 0.5
        found.append(batch(low_c, work_c, bool(good) != (random.random() < flipped)))
    return found
