"""The label of a lot of bars as PDF: name, allergens, net weight, best before, lot."""

import re
from pathlib import Path
from typing import Any

from snapgloss.base.errors import InputError
from snapgloss.report.pdf import close_fonts, new_pdf, not_in_face
from snapgloss.report.write import write_whole
from snapgloss.runs.lots import LabelText, show_day

WIDTH_MM, HEIGHT_MM, EDGE_MM = 74.0, 48.0, 4.0
# Digits of the net weight 4 mm high do up to 1 kg (directive 76/211/EEC, annex I 3.1, from
# memory); those of our face are 0.73 of its size. 1.2 mm for the height of an x is the least for
# words on food (EU 1169/2011, article 13, from memory); an x is 0.547 of the size.
NET_PT, LEAST_PT = 16.0, 6.3
_NAME_PT, _WORDS_PT = 17.0, 9.0


def write_label(label: LabelText, path: Path) -> Path:
    """Write the PDF, whole or not at all, and return its path; folders are made.

    Raises InputError when the words do not fit, StoreError when it cannot be written.
    """
    write_whole(path, label_pdf(label), "The label", "Choose another place with --out.")
    return path


def label_pdf(label: LabelText) -> bytes:
    """The label as one page of 74 by 48 mm."""
    pdf = new_pdf((HEIGHT_MM, WIDTH_MM), f"{label.name}, lot {label.lot}")
    try:
        _fill(pdf, label)
    except InputError:
        close_fonts(pdf)
        raise
    return bytes(pdf.output())


def _fill(pdf: Any, label: LabelText) -> None:
    lacking = not_in_face(pdf, f"{label.name}{label.lot}{_words(label)}")
    if lacking:  # an allergen must not vanish from a label
        raise InputError(
            f"The label cannot show {lacking[:10]}.",
            "Write it in Latin, Greek or Cyrillic letters, without pictures.",
        )
    pdf.add_page(orientation="L")
    top = EDGE_MM
    if label.simulated:
        top = _simulated(pdf)
    foot = HEIGHT_MM - EDGE_MM - 9.5
    top = _fitted(pdf, "B", label.name, _NAME_PT, top, (foot - top) * 0.55) + 1.0
    words = _words(label)
    _fitted(pdf, "", words, _WORDS_PT, top, foot - top)
    _foot(pdf, label, foot + 1.0)


def _words(label: LabelText) -> str:
    """Allergens stand out by bold letters; ** is fpdf's mark for them."""
    parts = []
    if label.contains:
        parts.append(f"Contains **{_plain(', '.join(label.contains))}**.")
    if label.may_contain:
        parts.append(_plain(f"May contain {', '.join(label.may_contain)}."))
    if label.workshop:
        parts.append(_plain(label.workshop))
    return "\n".join(parts)


def _plain(words: str) -> str:
    """A person's words without what would be read as a mark for bold and the like."""
    return re.sub(r"([*_~-])\1+", r"\1", words).replace("[", "(").replace("]", ")")


def _simulated(pdf: Any) -> float:
    pdf.set_xy(EDGE_MM, EDGE_MM)
    pdf.set_font("text", "B", 8)
    pdf.cell(WIDTH_MM - 2 * EDGE_MM, 4, "SIMULATED: no bars were made", border=1, align="C")
    return EDGE_MM + 5.0


def _fitted(
    pdf: Any, style: str, text: str, most_pt: float, top_mm: float, height_mm: float
) -> float:
    """Write text as large as fits, return where it ends. Raises InputError when nothing fits."""
    width = WIDTH_MM - 2 * EDGE_MM
    marked = not style  # names are taken as they are: they may have stars of their own
    size_pt = most_pt
    while size_pt >= LEAST_PT:
        pdf.set_font("text", style, size_pt)
        line_mm = size_pt * 0.3528 * 1.22
        lines = pdf.multi_cell(
            width, line_mm, text, dry_run=True, output="LINES", markdown=marked, align="L"
        )
        if len(lines) * line_mm <= height_mm:
            pdf.set_xy(EDGE_MM, top_mm)
            pdf.multi_cell(width, line_mm, text, markdown=marked, align="L")
            return top_mm + len(lines) * line_mm
        size_pt -= 0.5
    raise InputError(
        f"The words do not fit on a label of {WIDTH_MM:.0f} by {HEIGHT_MM:.0f} mm.",
        "Use a shorter name, or put the allergens on a label of their own.",
    )


def _foot(pdf: Any, label: LabelText, top_mm: float) -> None:
    """Net weight to the left, large, best before to the right, the lot under both."""
    width = WIDTH_MM - 2 * EDGE_MM
    pdf.set_line_width(0.3)
    pdf.line(EDGE_MM, top_mm - 0.5, WIDTH_MM - EDGE_MM, top_mm - 0.5)
    pdf.set_xy(EDGE_MM, top_mm)
    pdf.set_font("text", "B", NET_PT)
    pdf.cell(width, 6, f"{label.net_mg / 1000:g} g")
    pdf.set_xy(EDGE_MM, top_mm)
    pdf.set_font("text", "", 7.5)
    pdf.cell(width, 6, f"Best before {show_day(label.best_before)}", align="R")
    words = f"Lot {label.lot}"
    pdf.set_font("text", "", 7.5 * min(1.0, width / pdf.get_string_width(words)))
    pdf.set_xy(EDGE_MM, top_mm + 5.8)
    pdf.cell(width, 3.7, words, align="R")
