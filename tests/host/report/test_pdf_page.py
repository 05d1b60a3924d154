"""The report as PDF, read back by another program."""

import io
import re

import pypdfium2

from snapgloss.report.figure_rows import figure_rows
from snapgloss.report.pdf_page import pdf_page
from snapgloss.report.picture import picture_of
from snapgloss.runs.grading import count, grade, weigh
from snapgloss.runs.lots import use_bag

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 10), *rest) for state, m, *rest in SEEDED)


def _read(content: bytes) -> tuple[int, str, tuple[float, float]]:
    """Pages, all words with single blanks, and the size in millimetres."""
    document = pypdfium2.PdfDocument(io.BytesIO(content))
    page = document[0]
    text = re.sub(r"\s+", " ", page.get_textpage().get_text_range())
    width, height = page.get_size()
    pages = len(document)
    document.close()
    return pages, text, (width / 72 * 25.4, height / 72 * 25.4)


def test_one_page_with_every_figure_and_what_became_of_the_bars(store):
    """Another program reads name, verdict, each figure, steps, grade and that it was simulated."""
    run_id = keep(store, synthetic(SHORT), chocolate="Łantern & Mañana 72")
    grade(store, run_id, "seconds", ["film"])
    store.add_note(run_id, "A calm batch.")
    run = picture_of(store, run_id)
    pages, text, size_mm = _read(pdf_page(run))
    assert (pages, [round(mm) for mm in size_mm]) == (1, [210, 297])
    wanted = [words for row in figure_rows(run, False) for words in row]
    wanted += ["Łantern & Mañana 72", run.headline, "SIMULATED", "Seconds at first: film.",
               "A calm batch.", "Quillby & Maar", "Firmware 0.1.0", "began 0:00"]  # fmt: skip
    assert [words for words in wanted if words not in text] == []


def test_a_usual_batch_with_all_its_entries_fits_on_its_page(store):
    """Lots, knife, curve, counts, weights, trays, grade and notes: nothing is left out, and the
    caution about the probe is on it."""
    run_id = keep(store, synthetic(SEEDED), simulated=False)
    use_bag(store, run_id, "24-117", 2000)
    store.add_smear(run_id, 21_000, 240, False)
    store.add_curve(run_id, 1.02, "in", None, "")
    count(store, run_id, made=32, sold=28, seconds=2, remelt=2)
    weigh(store, run_id, 60_000, [60_400, 61_200])
    for tray in (1, 2, 3):
        store.add_tray(run_id, tray, "in", 1_790_000_000_000)
    grade(store, run_id, "sell")
    for words in ("A calm batch.", "The curve looks in temper: set as it should."):
        store.add_note(run_id, words)
    run = picture_of(store, run_id)
    pages, text, _ = _read(pdf_page(run))
    assert (pages, "more: snapgloss show" in text) == (1, False)
    assert [words for words in run.bars if words not in text] == []
    assert "The probe may be off by as much as half the window" in text
    assert "asked: seed in, 120 g" in text and "pouring begins" in text
    assert "took" not in text and "seed begins" not in text


def test_a_run_with_more_than_a_page_of_events_stays_on_one(store):
    """300 notes and a name of 60 wide letters: one page, and how much more there is."""
    run_id = keep(store, synthetic(SHORT), chocolate="W" * 60, simulated=False)
    for number in range(300):
        store.add_note(run_id, f"Note {number}, and some more words that take a line and a half.")
    pages, text, _ = _read(pdf_page(picture_of(store, run_id)))
    assert pages == 1
    shown = len(re.findall(r"Note \d+, and", text))
    assert f"and {300 - shown} more: snapgloss show {run_id}." in text
    assert "SIMULATED" not in text


def test_a_run_without_readings_has_a_page_that_says_so(store, tmp_path):
    """Nothing recorded: no figure is made up."""
    run_id = keep(store, synthetic(SHORT)._replace(readings=[], events=[]))
    pages, text, _ = _read(pdf_page(picture_of(store, run_id), fahrenheit=True))
    assert pages == 1
    assert "no working time" in text and "°C" not in text
