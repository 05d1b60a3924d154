"""The line card as PDF, in true millimetres: to print, cut, fold and stand on a bar."""

from pathlib import Path
from typing import Any

from snapgloss.quality import line_card as card
from snapgloss.report.pdf import new_pdf
from snapgloss.report.write import write_whole

PAPERS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
TOP_MM, FOOT_MM, SCALE_MM = 28.0, 26.0, 50
_GREY, _BLACK, _WHITE = 120, 0, 255
NAME = "snapgloss line card 1"
FOOT = ("Foot: fold it back along the dashes. Glue card and foot to a small box.",
        "Stand the box on the far end of the bar, the fold touching the chocolate.")  # fmt: skip
STEPS = (
    "1  Print at 100 %, on plain white paper, not glossy. The scale must be 50 mm long.",
    "2  Cut along the outer line. Fold the foot back at a right angle. Glue both to a small box "
    "with upright sides, such as a packet of tea.",
    "3  Lay the bar flat, its smooth side up, its long side towards you: 110 mm wide and 60 mm "
    "deep at least. Stand the box on its far end: the card upright, its lower edge on the bar.",
    "4  Light from a window on the card, behind you. No lamp, no window may be seen in the bar.",
    "5  Tablet about 35 cm away, looking down at about 30 degrees: the card is seen twice, "
    "itself and upside down in the bar. Let the card fill half of the width.",
    "6  Touch the card on the screen, so that focus and light are taken there. No flash. "
    "Three photos, each taken anew.",
)


def write_line_card(path: Path, paper: str = "A4") -> Path:
    """Write the PDF, whole or not at all, and return its path; `paper` is one of PAPERS_MM.

    Raises StoreError when it cannot be written.
    """
    write_whole(path, line_card_pdf(paper), "The line card", "Choose another place with --out.")
    return path


def line_card_pdf(paper: str = "A4") -> bytes:
    """The page: card and foot, a scale to check the print with, and how to hold it."""
    page_mm = PAPERS_MM[paper]
    pdf = new_pdf(page_mm, NAME)
    pdf.add_page()
    left = (page_mm[0] - card.WIDTH_MM) / 2
    _words(pdf, left, TOP_MM - 12, "B", 13, NAME)
    _face(pdf, left, TOP_MM)
    _foot(pdf, left, TOP_MM + card.HEIGHT_MM)
    scale_at = TOP_MM + card.HEIGHT_MM + FOOT_MM + 14
    _scale(pdf, left, scale_at)
    _how(pdf, page_mm[0], scale_at + 16)
    return bytes(pdf.output())


def _face(pdf: Any, left: float, top: float) -> None:
    """What a camera sees: drawn from the same figures as it is sought with."""
    bottom = top + card.HEIGHT_MM
    boxes = [card.RULE_MM] + [(*s, *card.LINES_MM) for f in card.FIELDS for s in f.black_mm]
    pdf.set_fill_color(_BLACK)
    for x_from, x_to, low, high in boxes:
        pdf.rect(left + x_from, bottom - high, x_to - x_from, high - low, style="F")
    for x_mm, y_mm in card.MARKS_MM:
        for radius_mm, grey in (
            (card.RING_MM, _BLACK), (card.GAP_MM, _WHITE), (card.DISC_MM, _BLACK)
        ):  # fmt: skip
            pdf.set_fill_color(grey)
            pdf.circle(left + x_mm, bottom - y_mm, radius_mm, style="F")


def _foot(pdf: Any, left: float, fold: float) -> None:
    """Where to cut, where to fold, and what the foot says; the lines thin and grey, for they are
    seen in the bar."""
    pdf.set_draw_color(_GREY)
    pdf.set_line_width(0.2)
    pdf.rect(left, fold - card.HEIGHT_MM, card.WIDTH_MM, card.HEIGHT_MM + FOOT_MM)
    pdf.set_dash_pattern(2, 2)
    pdf.line(left, fold, left + card.WIDTH_MM, fold)
    pdf.set_dash_pattern()
    for number, words in enumerate((*FOOT, NAME)):
        _words(pdf, left + 4, fold + 5 + 5.5 * number, "", 7.5, words)


def _scale(pdf: Any, left: float, at: float) -> None:
    """50 mm with a stroke each 10, to be held against a ruler."""
    pdf.set_draw_color(_BLACK)
    pdf.set_line_width(0.3)
    pdf.line(left, at, left + SCALE_MM, at)
    for mm in range(0, SCALE_MM + 1, 10):
        pdf.line(left + mm, at - 3, left + mm, at)
        pdf.set_font("text", "", 8)
        pdf.set_xy(left + mm - 5, at + 1.5)
        pdf.cell(10, 3.6, f"{mm}", align="C")
    _words(pdf, left + SCALE_MM + 6, at - 2, "", 8, "mm: hold a ruler against it")


def _words(pdf: Any, x_mm: float, y_mm: float, style: str, size_pt: float, words: str) -> None:
    pdf.set_font("text", style, size_pt)
    pdf.set_xy(x_mm, y_mm)
    pdf.cell(0, size_pt * 0.45, words)


def _how(pdf: Any, page_width_mm: float, top: float) -> None:
    pdf.set_font("text", "", 10)
    for words in STEPS:
        pdf.set_xy(25, top)
        pdf.multi_cell(page_width_mm - 50, 5, words, align="L")
        top = pdf.get_y() + 2
