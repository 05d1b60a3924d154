"""A PDF with letters for all of Europe: the face that matplotlib brings."""

import logging
from pathlib import Path

import matplotlib
from fpdf import FPDF


def new_pdf(page_mm: tuple[float, float], title: str) -> FPDF:
    """An empty document of pages (width, height), its face called "text", without margins.

    A character that the face lacks, such as most emoji, is left out, never refused.
    """
    logging.getLogger("fpdf").setLevel(logging.ERROR)  # it tells of such characters on stderr
    pdf = FPDF(unit="mm", format=page_mm)
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    pdf.add_font("text", "", fonts / "DejaVuSans.ttf")
    pdf.add_font("text", "B", fonts / "DejaVuSans-Bold.ttf")
    pdf.set_title(title)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.c_margin = 0
    return pdf
