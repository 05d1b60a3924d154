"""How sharply a bar mirrors the line card: contrast of its lines in the bar, over the card's own.

A relative figure of this project: it compares bars on one tablet with one print, and is no gloss
unit. For each field of lines the contrast in the bar is divided by that of the same lines on the
card in the same photo, which takes away print, focus and light; the figure is the mean over lines
of 8, 4 and 2 mm period, over that of the widest (24 mm), which takes away how much the bar
mirrors at all. 1 is a mirror, 0 a bar that blurs all of it. For a blur of Gaussian shape the
contrast of lines of frequency f is exp(-2 pi^2 s^2 f^2), the Fourier transform of a Gaussian.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.quality import line_card
from snapgloss.quality.gloss_find import Found, Picture, find_card

PX_PER_MM_LEAST = 3.0
_CLIPPED, _CLIPPED_MOST = 0.98, 0.05
_FOCUS_LEAST = 0.2  # of the widest lines' contrast: a good photo has 0.6 and more
_PAPER_LEAST = 0.06
_MIRROR_LEAST = 0.006  # of the card's contrast; a polished surface of fat mirrors 0.035 and more
_WHOLE_MM, _FLAT_MM = (7.0, 39.0), (17.0, 25.0)
_STRETCH_MOST = 0.15
_SLANT_MOST = 0.25
_PHASE_MOST = 1.0  # rad; more, and what is seen are not the card's lines
_UNEVEN_MOST = 3.0
_STEP_MM, _ROWS_PER_MM = 0.125, 3

Lines = NDArray[np.complex128]

AGAIN = "Stand the card on the bar as it says on its foot, and take the photo again."


@dataclass(frozen=True)
class Gloss:
    """What a photo says. `sharpness` from 0 to 1; `mirrored` how much contrast of the widest
    lines is in the bar; `lines` the contrast of the narrower ones over it, widest first."""

    sharpness: float
    mirrored: float
    lines: tuple[float, ...]
    px_per_mm: float


def gloss_of(light: Picture) -> Gloss:
    """The figure of a photo; `light` in linear shares of full scale, rows by columns.

    Raises InputError, with what to do, where the card is not seen, the photo is over-exposed, too
    dark or too small, or the bar does not show the card.
    """
    card = find_card(light)
    if card is None:
        raise InputError("The line card is not seen in this photo.", "All four rings must be "
                         "seen, and nothing in front of them.")  # fmt: skip
    if card.px_per_mm < PX_PER_MM_LEAST:
        raise InputError(
            f"The card is too small in this photo: {card.px_per_mm:.1f} pixels a millimetre.",
            "Go nearer, or use the full size of the camera.",
        )
    _check_light(card, light)
    own = [_lines(card, light, field, 1.0) for field in line_card.FIELDS]
    if _contrast(own[-1], 0.0) < _FOCUS_LEAST * _contrast(own[0], 0.0):
        raise InputError(
            "The photo is out of focus: the card's fine lines are not seen.",
            "Touch the card on the screen, wait until it is sharp, and hold still.",
        )
    down = -_stretch(card, light, own[0])
    bar = [_lines(card, light, field, down) for field in line_card.FIELDS]
    _check_mirror(own[0], bar[0])
    slant = _slant(bar[1], line_card.FIELDS[1].period_mm)
    shares = [
        _contrast(theirs, slant / field.period_mm) / _contrast(ours, 0.0)
        for field, ours, theirs in zip(line_card.FIELDS, own, bar, strict=True)
    ]
    lines = tuple(share / shares[0] for share in shares[1:])
    return Gloss(sum(lines) / len(lines), shares[0], lines, card.px_per_mm)


def _field(
    card: Found, light: Picture, field: line_card.Field, way: float,
    band_mm: tuple[float, float] = line_card.BAND_MM,
) -> Picture:  # fmt: skip
    """The light of a field, from the foot up: of the card (way 1), or of the bar below it, where
    what stands at a height of 1 mm is seen at `way` mm. NaN outside the photo."""
    x_mm = np.arange(field.from_mm, field.to_mm, _STEP_MM) + _STEP_MM / 2
    y_mm = np.arange(*band_mm, 1 / _ROWS_PER_MM) + 0.5 / _ROWS_PER_MM
    return card.seen(light, *np.meshgrid(x_mm, way * y_mm))


def _stretch(card: Found, light: Picture, own: Lines) -> float:
    """How much taller than the card its picture in the bar is: a card that leans makes it so.

    By where the widest lines end, at half of their contrast; 1 where nobody can tell. Without it
    a card that leans by 2 degrees moves the figure by 2 % (simulated).
    """
    field = line_card.FIELDS[0]
    rows = _amplitudes(_field(card, light, field, -1.0, _WHOLE_MM), field)
    level = (rows / np.mean(own)).real
    at_mm = _WHOLE_MM[0] + 0.5 + np.arange(len(level))
    half = level[(at_mm > _FLAT_MM[0]) & (at_mm < _FLAT_MM[1])].mean() / 2
    ends = [_crossing(at_mm, level - half, near_mm) for near_mm in line_card.LINES_MM]
    known = [(end, near) for end, near in zip(ends, line_card.LINES_MM, strict=True) if end]
    found = sum(end for end, _ in known) / sum(near for _, near in known) if known else 1.0
    return float(found) if abs(found - 1) < _STRETCH_MOST else 1.0


def _crossing(at_mm: Picture, level: Picture, near_mm: float) -> float | None:
    """Where the level passes 0 nearest to a place; None where it does not within 4 mm."""
    before = np.flatnonzero(level[:-1] * level[1:] < 0)
    if not len(before):
        return None
    share = level[before] / (level[before] - level[before + 1])
    places = at_mm[before] + share
    nearest = places[np.argmin(np.abs(places - near_mm))]
    return float(nearest) if abs(nearest - near_mm) < 4.0 else None


def _check_light(card: Found, light: Picture) -> None:
    both = [_field(card, light, field, side) for field in line_card.FIELDS for side in (1, -1)]
    if any((seen > _CLIPPED).mean() > _CLIPPED_MOST for seen in both):
        raise InputError(
            "The photo is over-exposed: paper or bar is white all over.",
            "Touch the card on the screen, so that the camera takes its light from there.",
        )
    if np.nanpercentile(both[0], 90) < _PAPER_LEAST:
        raise InputError("The photo is too dark.", "Take it in more light, without a flash.")


def _lines(card: Found, light: Picture, field: line_card.Field, way: float) -> Lines:
    """The contrast of a field's lines in each millimetre of height, as amplitude and phase."""
    found = _amplitudes(_field(card, light, field, way), field)
    if not np.isfinite(found).all():
        raise InputError("A part of the card, or of its picture in the bar, is cut off.", AGAIN)
    return found


def _amplitudes(seen: Picture, field: line_card.Field) -> Lines:
    """Least squares with a level and a slope beside the lines, weighed less towards the field's
    ends where other fields blur into it; the widest has but one period and needs its ends."""
    rows = seen.reshape(-1, _ROWS_PER_MM, seen.shape[1]).mean(axis=1)
    count = seen.shape[1]
    at = (np.arange(count) + 0.5) / count
    turns = 2 * np.pi * at * round((field.to_mm - field.from_mm) / field.period_mm)
    basis = np.stack([np.ones(count), at - 0.5, np.cos(turns), np.sin(turns)], axis=1)
    weight = np.ones(count) if field is line_card.FIELDS[0] else np.sin(np.pi * at)
    takes = np.linalg.pinv(basis * weight[:, None]) * weight
    found: Lines = rows @ (takes[2] - 1j * takes[3])
    return found


def _slant(lines: Lines, period_mm: float) -> float:
    """How far lines go sideways with each millimetre down, in mm; 0 where nobody can tell."""
    turned = float(np.angle(np.sum(lines[:-1] * np.conj(lines[1:]))))
    slant = turned * period_mm / (2 * np.pi)
    return slant if abs(slant) <= _SLANT_MOST else 0.0


def _contrast(lines: Lines, slant_periods: float) -> float:
    """The amplitude common to neighbouring heights: their noise has nothing in common, so that
    it adds nothing (a cross spectrum). `slant_periods`: how far they are turned, in periods."""
    both = np.mean(lines[:-1] * np.conj(lines[1:])) * np.exp(-2j * np.pi * slant_periods)
    return float(np.sqrt(max(0.0, both.real)))


def _check_mirror(own: Lines, bar: Lines) -> None:
    """Refuse where the widest lines are not seen in the bar as they stand on the card."""
    like = np.mean(bar) / np.mean(own)
    if abs(like) < _MIRROR_LEAST or abs(np.angle(like)) > _PHASE_MOST:
        raise InputError(
            "The card is seen, but not in the bar.",
            f"{AGAIN} A bar that mirrors nothing is dull: grade it so.",
        )
    half = len(bar) // 2
    near, far = abs(np.mean(bar[:half])), abs(np.mean(bar[half:]))
    if max(near, far) > _UNEVEN_MOST * min(near, far):
        raise InputError(
            "The bar does not show the card's lines from end to end.",
            "The card's lower edge must touch the bar, and the bar lie before it, flat and clean.",
        )
