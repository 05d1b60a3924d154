"""A PDF with letters for all of Europe: the face that matplotlib brings."""

import logging
from pathlib import Path

import matplotlib
from fpdf import FPDF
from fpdf.fonts import TTFFont


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


def close_fonts(pdf: FPDF) -> None:
    """Close the files of its faces, which stay open in a document that is never put out."""
    for font in pdf.fonts.values():
        if isinstance(font, TTFFont):
            font.ttfont.close()


def not_in_face(pdf: FPDF, text: str) -> str:
    """The characters of a text that the face lacks, each once, in their order."""
    faces = [f.ttfont.getBestCmap() for f in pdf.fonts.values() if isinstance(f, TTFFont)]
    lacking = [c for c in text if c != "\n" and any(ord(c) not in face for face in faces)]
    return "".join(dict.fromkeys(lacking))
