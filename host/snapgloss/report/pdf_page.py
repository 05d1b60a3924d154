"""The report on one page of A4, to pin up or to hand over."""

import io
from collections.abc import Sequence
from typing import NamedTuple, cast

from fpdf import FPDF

from rigfw.version import __version__
from snapgloss.base.units import show_h_mm
from snapgloss.quality.event_words import say_all
from snapgloss.report.figure import SIZE_INCH, draw
from snapgloss.report.figure_rows import figure_rows
from snapgloss.report.page import METHODS, caution_of, ended_words, step_rows
from snapgloss.report.pdf import new_pdf
from snapgloss.report.picture import RunPicture, clock_time, day

PAGE_MM = (210.0, 297.0)
EDGE_MM = 13.0
GAP_MM = 8.0
FOOT_MM = 284.0
_WIDTH_MM = PAGE_MM[0] - 2 * EDGE_MM
_COLUMN_MM = (_WIDTH_MM - GAP_MM) / 2
_PT, _LINE_MM = 7.6, 3.75
_DPI = 200
IN_STEPS = ("step", "reached")
"""Events that the table of steps tells already: a usual batch stays on its page."""
_QUIET, _INK = (117, 104, 95), (43, 33, 28)


class _Block(NamedTuple):
    """A heading with rows of a name and a value; a row without a value goes across."""

    title: str
    rows: list[tuple[str, str]]
    name_mm: float


def pdf_page(run: RunPicture, fahrenheit: bool = False) -> bytes:
    """The whole report as one page; what does not fit is counted, and where it is kept."""
    pdf = new_pdf(PAGE_MM, f"{run.title}, run {run.row.id}")
    pdf.add_page()
    y_mm = _head(pdf, run)
    height_mm = _WIDTH_MM * SIZE_INCH[1] / SIZE_INCH[0]
    pdf.image(_picture(run, fahrenheit), EDGE_MM, y_mm, _WIDTH_MM, height_mm)
    _columns(pdf, run, y_mm + height_mm + 2, fahrenheit)
    _foot(pdf, run)
    return bytes(pdf.output())


def _picture(run: RunPicture, fahrenheit: bool) -> io.BytesIO:
    from snapgloss.report.write import png_of

    figure = draw(run, fahrenheit, header=False)
    figure.set_facecolor("white")  # as the sheet
    return io.BytesIO(png_of(figure, _DPI))


def _head(pdf: FPDF, run: RunPicture) -> float:
    """Name, what it was, verdict; return where it ends."""
    y_mm = EDGE_MM - 3
    if run.row.simulated:
        pdf.set_fill_color(208, 71, 58)
        pdf.set_text_color(255, 253, 250)
        pdf.set_font("text", "B", 9)
        pdf.set_xy(EDGE_MM, y_mm)
        words = "  SIMULATED: a virtual rig made this record. No chocolate was heated."
        pdf.cell(_WIDTH_MM, 6, words, fill=True)
        y_mm += 8
    pdf.set_text_color(*_INK)
    pdf.set_font("text", "B", 17)
    pdf.set_font("text", "B", 17 * min(1.0, _WIDTH_MM / pdf.get_string_width(run.row.chocolate)))
    y_mm = _across(pdf, run.row.chocolate, y_mm, 8)
    pdf.set_font("text", "", 9)
    pdf.set_text_color(*_QUIET)
    y_mm = _across(pdf, _about(run), y_mm, 4.4)
    pdf.set_text_color(*_INK)
    pdf.set_font("text", "", 12)
    y_mm = _across(pdf, run.headline, y_mm + 1.2, 6)
    pdf.set_font("text", "", 9)
    return _across(pdf, ended_words(run), y_mm, 4.4) + 1


def _about(run: RunPicture) -> str:
    row = run.row
    parts = [
        run.title[len(row.chocolate) + 2 :], f"began {clock_time(row.started_utc_ms)}", row.type,
        METHODS.get(row.method, row.method), row.rig, row.workshop, f"run {row.id}",
    ]  # fmt: skip
    return " · ".join(part for part in parts if part)


def _across(pdf: FPDF, text: str, y_mm: float, line_mm: float) -> float:
    if not text:
        return y_mm
    pdf.set_xy(EDGE_MM, y_mm)
    pdf.multi_cell(_WIDTH_MM, line_mm, text, align="L")
    return float(pdf.get_y())


def _columns(pdf: FPDF, run: RunPicture, top_mm: float, fahrenheit: bool) -> None:
    """What was measured to the left, bars and what happened to the right, notes in the shorter."""
    steps = [
        (name, f"began {began}, reached {reached}, {took}, in its band {inside}")
        for name, began, reached, took, inside in step_rows(run)
    ]
    notes = [(clock_time(note.written_utc_ms), note.words) for note in run.notes]
    told = [event for event in run.events if event.kind not in IN_STEPS]
    events = [
        (show_h_mm(max(0, said.at_ms - run.zero_ms) / 1000), said.words)
        for said in say_all(told, fahrenheit)
    ]
    figures = figure_rows(run, fahrenheit)
    figures += [(words, "") for words in filter(None, [caution_of(run)])]
    left = [
        _Block("Figures", figures, 46),
        _Block("Steps", steps, 15),
        _Block("Probes", [(words, "") for words in run.probes], 0),
    ]
    right = [
        _Block("Lots and bars", [(words, "") for words in run.bars], 0),
        _Block("What happened", events, 10),
    ]
    min(left, right, key=_rows).append(_Block("Notes", notes, 10))
    _column(pdf, left, EDGE_MM, top_mm, run.row.id)
    _column(pdf, right, EDGE_MM + _COLUMN_MM + GAP_MM, top_mm, run.row.id)


def _rows(blocks: Sequence[_Block]) -> int:
    """About how many lines a column has; words without a name take two."""
    return sum(2 if not value else 1 for block in blocks for _, value in block.rows)


def _column(pdf: FPDF, blocks: Sequence[_Block], x_mm: float, y_mm: float, run_id: int) -> None:
    for block in blocks:
        if not block.rows:
            continue
        if y_mm + 3 * _LINE_MM > FOOT_MM - _LINE_MM:
            _words(pdf, f"{block.title}: snapgloss show {run_id}.", x_mm, y_mm)
            return
        pdf.set_font("text", "B", 9)
        pdf.set_xy(x_mm, y_mm)
        pdf.cell(_COLUMN_MM, 5, block.title)
        y_mm += 5.2
        pdf.set_font("text", "", _PT)
        for number, row in enumerate(block.rows):
            need_mm = _row_mm(pdf, block, row)
            if y_mm + need_mm > FOOT_MM - _LINE_MM:
                left = len(block.rows) - number
                _words(pdf, f"and {left} more: snapgloss show {run_id}.", x_mm, y_mm)
                return
            _row(pdf, block, row, x_mm, y_mm)
            y_mm += need_mm
        y_mm += 2


def _row_mm(pdf: FPDF, block: _Block, row: tuple[str, str]) -> float:
    text, width = (row[1], _COLUMN_MM - block.name_mm) if row[1] else (row[0], _COLUMN_MM)
    height = pdf.multi_cell(width, _LINE_MM, text, dry_run=True, output="HEIGHT", align="L")
    return max(_LINE_MM, float(cast(float, height)))


def _row(pdf: FPDF, block: _Block, row: tuple[str, str], x_mm: float, y_mm: float) -> None:
    name, value = row
    if not value:
        pdf.set_xy(x_mm, y_mm)
        pdf.multi_cell(_COLUMN_MM, _LINE_MM, name, align="L")
        return
    pdf.set_text_color(*_QUIET)
    pdf.set_xy(x_mm, y_mm)
    pdf.cell(block.name_mm, _LINE_MM, name)
    pdf.set_text_color(*_INK)
    pdf.set_xy(x_mm + block.name_mm, y_mm)
    pdf.multi_cell(_COLUMN_MM - block.name_mm, _LINE_MM, value, align="L")


def _words(pdf: FPDF, words: str, x_mm: float, y_mm: float) -> None:
    pdf.set_font("text", "", _PT)
    pdf.set_text_color(*_QUIET)
    pdf.set_xy(x_mm, y_mm)
    pdf.cell(_COLUMN_MM, _LINE_MM, words)
    pdf.set_text_color(*_INK)


def _foot(pdf: FPDF, run: RunPicture) -> None:
    firmware = f" Firmware {run.firmware}." if run.firmware else ""
    pdf.set_font("text", "", 7)
    pdf.set_text_color(*_QUIET)
    pdf.set_xy(EDGE_MM, FOOT_MM)
    pdf.multi_cell(
        _WIDTH_MM, 3.3,
        "Temperatures and times only: whether chocolate is in temper is for the knife and the "
        f"bars to say. Times are hours and minutes since the start, {day(run.row.started_utc_ms)}."
        f"{firmware} Made by snapgloss {__version__}.",
        align="L",
    )  # fmt: skip
