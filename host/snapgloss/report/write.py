"""Write a report's files, each whole or not at all."""

import io
import warnings
from pathlib import Path

from matplotlib.figure import Figure

from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import replace, shown_path
from snapgloss.report import ReportPaths
from snapgloss.report.figure import draw
from snapgloss.report.page import page
from snapgloss.report.pdf_page import pdf_page
from snapgloss.report.picture import picture_of
from snapgloss.store.store import Store

PNG_DPI = 150


def write(store: Store, run_id: int, folder: Path, fahrenheit: bool) -> ReportPaths:
    """See snapgloss.report.write_report."""
    run = picture_of(store, run_id, fahrenheit)
    paths = ReportPaths(*(folder / f"run-{run_id}.{kind}" for kind in ("html", "png", "pdf")))
    html = page(run, fahrenheit).encode()
    png = png_of(draw(run, fahrenheit))
    pdf = pdf_page(run, fahrenheit)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        replace(paths.html, html)
        replace(paths.png, png)
        replace(paths.pdf, pdf)
    except OSError as error:
        raise StoreError(
            f"The report could not be written to {shown_path(folder)}: {error.strerror}.",
            "Choose another folder, or free some space.",
        ) from error
    return paths


def png_of(figure: Figure, dots_per_inch: int = PNG_DPI) -> bytes:
    """A picture as the bytes of a PNG; a character that the face lacks is an empty box."""
    buffer = io.BytesIO()
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")
        figure.savefig(buffer, format="png", dpi=dots_per_inch)
    return buffer.getvalue()


def write_png(path: Path, figure: Figure) -> None:
    """Write a picture, whole or not at all, its folder made. Raises StoreError."""
    write_whole(path, png_of(figure), "The picture", "Choose another place.")


def write_whole(path: Path, content: bytes, what: str, remedy: str) -> None:
    """Write a file, whole or not at all, its folder made; `what` is the subject of a refusal.

    Raises StoreError.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace(path, content)
    except OSError as error:
        words = f"{what} could not be written to {shown_path(path)}: {error.strerror}."
        raise StoreError(words, remedy) from error
