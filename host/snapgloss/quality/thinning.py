"""Readings thinned for a picture so many pixels wide: none is made up, no extreme is lost."""

import numpy as np
from numpy.typing import NDArray

from snapgloss.quality.columns import Columns, Floats, Ints


def thinned(columns: Columns, width: int) -> NDArray[np.int_]:
    """The places of the readings to draw, in order: first and last, both sides of a gap wider than
    a pixel, and of each of `width` equal stretches of time the lowest and highest chocolate; of
    the plate those of half as many."""
    count = len(columns.at_ms)
    if count <= 2 * width:
        return np.arange(count)
    wide_ms = (columns.at_ms[-1] - columns.at_ms[0]) / width
    gaps = np.flatnonzero(columns.gap & (columns.span_ms > wide_ms))
    kept = [np.array([0, count - 1]), gaps, np.minimum(gaps + 1, count - 1)]
    for values, stretches in ((columns.product_mc, width), (columns.plate_mc, width // 2)):
        begins = _begins(columns.at_ms, max(1, stretches))
        kept += [_extremes(values, begins, low) for low in (True, False)]
    found: NDArray[np.int_] = np.unique(np.concatenate(kept))
    return found


def _begins(at_ms: Ints, width: int) -> NDArray[np.int_]:
    """Where each stretch of time begins; stretches without a reading are left out."""
    edges = np.linspace(at_ms[0], at_ms[-1], width + 1)[:-1]
    found: NDArray[np.int_] = np.unique(np.searchsorted(at_ms, edges))
    return found


def _extremes(values: Floats, begins: NDArray[np.int_], low: bool) -> NDArray[np.int_]:
    """The first place of each stretch that has its lowest, or highest, value."""
    height = np.where(np.isnan(values), np.inf, values if low else -values)
    best = np.minimum.reduceat(height, begins)
    lengths = np.diff(np.append(begins, len(values)))
    hits = np.flatnonzero(height == np.repeat(best, lengths))
    first = np.searchsorted(hits, begins)
    found: NDArray[np.int_] = hits[first]
    return found
