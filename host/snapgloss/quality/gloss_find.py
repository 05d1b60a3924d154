"""Find the line card in a photo: its four marks, and what place of the card each pixel shows."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from snapgloss.quality import line_card

Picture = NDArray[np.floating[Any]]
Points = NDArray[np.floating[Any]]

_PAIRS_MOST = 60  # a photo full of rings must not take for ever
MARKS_MOST = 14  # so many rings are tried; a photo has eight with those in the bar
LIKE_LEAST = 0.55  # how well what is there agrees with the card: correlation
_LOOK_PX_PER_MM = 2
_WINDOWS = (12, 30)  # what is dark is darker than round it: the photo's width over this


@dataclass(frozen=True)
class Found:
    """`place` puts mm of the card (x, y, 1) to pixels (column, row), over its third."""

    place: NDArray[np.float64]
    likeness: float

    def pixels(self, x_mm: Points, y_mm: Points) -> tuple[Points, Points]:
        """Columns and rows in the photo of places in the card's plane; below 0 mm: in the bar."""
        column, row, by = np.tensordot(
            self.place, np.stack([x_mm, y_mm, np.ones_like(x_mm)]), axes=1
        )
        by = np.where(np.abs(by) < 1e-9, np.inf, by)  # four marks that no camera sees so
        return column / by, row / by

    def seen(self, light: Picture, x_mm: Points, y_mm: Points) -> Picture:
        """The light at places in the card's plane; NaN outside the photo."""
        column, row = self.pixels(x_mm, y_mm)
        found: Picture = ndimage.map_coordinates(
            light, [row, column], order=1, mode="constant", cval=np.nan
        )
        return found

    @property
    def px_per_mm(self) -> float:
        """Pixels that a millimetre takes in the middle of the card, across the lines."""
        middle = line_card.WIDTH_MM / 2
        column, row = self.pixels(np.array([middle - 20, middle + 20]), np.array([22.0, 22.0]))
        return float(np.hypot(np.diff(column), np.diff(row))[0] / 40)


def find_card(light: Picture) -> Found | None:
    """The card itself, not its picture in the bar; `light` from 0 to 1. None where none is."""
    rings = _rings(light)
    looks: list[tuple[float, float, Found]] = []
    for four in combinations(range(len(rings)), 4):
        for corners in _orders(rings[list(four)]):
            found = Found(_homography(corners), 0.0)
            like, contrast = _agreement(found, light)
            if like >= LIKE_LEAST:
                looks.append((like, contrast, Found(found.place, like)))
    if not looks:
        return None
    bright = max(contrast for _, contrast, _ in looks)
    return max((one for one in looks if one[1] > bright / 2), key=lambda one: one[0])[2]


def _rings(light: Picture) -> Points:
    """Columns, rows and sizes of discs in rings, the best first."""
    found: list[tuple[float, float, float, float]] = []
    for part in _WINDOWS:
        found += _rings_at(light, max(9, light.shape[1] // part))
    found.sort()
    kept: list[tuple[float, float, float, float]] = []
    for one in found:
        if all(np.hypot(one[1] - k[1], one[2] - k[2]) > k[3] / 2 for k in kept):
            kept.append(one)
    return np.array([one[1:] for one in kept[:MARKS_MOST]]).reshape(-1, 3)


def _rings_at(light: Picture, window_px: int) -> list[tuple[float, float, float, float]]:
    """How far off, column, row and size of each disc in a ring."""
    smooth = ndimage.gaussian_filter(light, 1.0)
    dark = smooth < 0.82 * ndimage.uniform_filter(smooth, window_px)
    labels, count = ndimage.label(dark)
    if not count:
        return []
    boxes = np.array([[s.start, s.stop] for pair in ndimage.find_objects(labels) for s in pair])
    boxes = boxes.reshape(-1, 4)
    sizes = np.stack([boxes[:, 3] - boxes[:, 2], boxes[:, 1] - boxes[:, 0]], axis=1)
    middles = np.stack([boxes[:, 2:].mean(axis=1), boxes[:, :2].mean(axis=1)], axis=1) - 0.5
    pairs = sorted(_discs_in_rings(sizes, middles, light.shape[1] / 6))[:_PAIRS_MOST]
    found = []
    for wrong, ring, disc in pairs:
        top, bottom, left, right = boxes[disc]
        row, column = ndimage.center_of_mass(labels[top:bottom, left:right] == disc + 1)
        found.append((wrong, float(left + column), float(top + row), float(sizes[ring].max())))
    return found


def _discs_in_rings(
    sizes: Points, middles: Points, most_px: float
) -> Iterator[tuple[float, int, int]]:
    """How far off, and which two dark pieces are like a disc in the middle of a ring."""
    is_round = sizes.max(axis=1) < 2.5 * sizes.min(axis=1)
    large = (sizes.min(axis=1) >= 10) & (sizes.max(axis=1) < most_px)
    near = cKDTree(middles)
    for ring in np.flatnonzero(is_round & large):
        around = np.array(near.query_ball_point(middles[ring], 0.12 * sizes[ring].max()))
        off = np.abs(middles[around] - middles[ring]) / sizes[ring]
        share = sizes[around] / sizes[ring]
        wrong = off.sum(axis=1) + np.abs(share - line_card.DISC_MM / line_card.RING_MM).sum(axis=1)
        inside = (off.max(axis=1) < 0.12) & (share.min(axis=1) > 0.2) & (share.max(axis=1) < 0.55)
        for at in np.flatnonzero(inside):
            yield float(wrong[at]), int(ring), int(around[at])


def _orders(rings: Points) -> list[Points]:
    """Four marks as the card's, from the lower left against the clock, each way it may lie."""
    corners, size = rings[:, :2], rings[:, 2]
    off = corners - corners.mean(axis=0)
    corners = corners[np.argsort(np.arctan2(-off[:, 1], off[:, 0]))]  # rows go down
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if size.max() > 2.2 * size.min() or sides.min() < 1.2 * size.max():
        return []
    found = []
    for turn in range(4):
        wide, high = np.roll(sides, -turn)[[0, 2]], np.roll(sides, -turn)[[1, 3]]
        is_like = 6 < wide.mean() / size.mean() < 13 and 1.8 < wide.mean() / high.mean() < 4.5
        if is_like and wide.max() < 1.6 * wide.min() and high.max() < 1.8 * high.min():
            found.append(np.roll(corners, -turn, axis=0))
    return found


def _homography(corners: Points) -> NDArray[np.float64]:
    """From the card's plane to the photo, by four places: eight equations."""
    rows, right = [], []
    for (x, y), (column, row) in zip(line_card.MARKS_MM, corners, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -column * x, -column * y]]
        rows += [[0, 0, 0, x, y, 1, -row * x, -row * y]]
        right += [column, row]
    try:
        solved = np.linalg.solve(np.array(rows), np.array(right))
    except np.linalg.LinAlgError:  # three in a line
        return np.eye(3)
    return np.append(solved, 1.0).reshape(3, 3)


_CARD = line_card.drawn(_LOOK_PX_PER_MM)


def _agreement(found: Found, light: Picture) -> tuple[float, float]:
    """Correlation with the card as it is drawn, and how much brighter paper is than ink."""
    rows, columns = (np.indices(_CARD.shape) + 0.5) / _LOOK_PX_PER_MM
    seen = found.seen(light, columns, line_card.HEIGHT_MM - rows)
    known = np.isfinite(seen)
    if known.mean() < 0.95 or seen[known].std() < 1e-6:
        return 0.0, 0.0
    drawn = _CARD[known]
    like = float(np.corrcoef(seen[known], drawn)[0, 1])
    return like, float(seen[known][drawn > 0.5].mean() - seen[known][drawn < 0.5].mean())
