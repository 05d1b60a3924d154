"""A run on one page: a picture, an HTML report, a PNG and a PDF.

Importing this package is cheap; the drawing library is loaded by the first report.
"""

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from snapgloss.store.store import Store

__all__ = ["ReportPaths", "write_report"]


class ReportPaths(NamedTuple):
    """The files of one report."""

    html: Path
    png: Path
    pdf: Path


def write_report(
    store: "Store", run_id: int, folder: Path, fahrenheit: bool = False
) -> ReportPaths:
    """Write the report of a run into `folder` (made if absent) as run-N.html, .png and .pdf.

    Each file appears whole or not at all. Raises StoreError when there is no such run, or the
    folder cannot be written.
    """
    from snapgloss.report.write import write

    return write(store, run_id, folder, fahrenheit)
