"""The line card as it is printed: in true millimetres, and found by what seeks it."""

import numpy as np
import pypdfium2
import pytest

from snapgloss.quality import line_card
from snapgloss.quality.gloss_find import find_card
from snapgloss.report.line_card import PAPERS_MM, TOP_MM, line_card_pdf

PX_PER_MM = 10
MM_PER_POINT = 25.4 / 72  # PDF's unit: ISO 32000-1, 8.3.2.3, from memory


def printed(paper: str) -> np.ndarray:
    """The page as another program draws it, from 0 to 1."""
    document = pypdfium2.PdfDocument(line_card_pdf(paper))
    drawn = document[0].render(scale=PX_PER_MM * MM_PER_POINT, grayscale=True).to_numpy()
    document.close()
    return np.asarray(drawn, dtype=float).reshape(drawn.shape[:2]) / 255


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_card_is_as_large_as_it_says(paper: str) -> None:
    """What is printed is what is sought, place by place.

    Edges that lie a pixel (0.1 mm) off on all lines are a mean difference of 0.014, a card that is
    1 % too wide 0.03 and more.
    """
    page = printed(paper)
    assert page.shape[::-1] == pytest.approx([mm * PX_PER_MM for mm in PAPERS_MM[paper]], abs=1.1)
    left = round((PAPERS_MM[paper][0] - line_card.WIDTH_MM) / 2 * PX_PER_MM)
    top = round(TOP_MM * PX_PER_MM)
    face = line_card.drawn(PX_PER_MM)
    seen = page[top : top + face.shape[0], left : left + face.shape[1]]
    inside = slice(8, -8)  # without the line to cut along
    assert np.abs(seen[inside, inside] - face[inside, inside]).mean() < 0.018


def test_the_printed_card_is_found() -> None:
    """By its marks, and a millimetre is as many pixels as it was drawn with."""
    found = find_card(printed("A4"))
    assert found is not None
    assert found.likeness > 0.95
    assert found.px_per_mm == pytest.approx(PX_PER_MM, rel=0.002)


def test_the_lines_are_half_ink_and_inside_the_card() -> None:
    """Each field of 24 mm has as much black as white, and stands between marks and edges."""
    for field in line_card.FIELDS:
        assert field.to_mm - field.from_mm == 24.0
        assert sum(end - begin for begin, end in field.black_mm) == pytest.approx(12.0)
        assert all(field.from_mm <= a < b <= field.to_mm for a, b in field.black_mm)
    low, high = line_card.LINES_MM
    assert line_card.MARKS_MM[0][1] + line_card.RING_MM < low < line_card.BAND_MM[0]
    assert line_card.BAND_MM[1] < high < line_card.MARKS_MM[2][1] - line_card.RING_MM
