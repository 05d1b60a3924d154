"""What the pictures of plans share: paper, title, the word that says it is no measurement."""

import io
import warnings
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import replace
from snapgloss.report import palette as p

SIZE_INCH = (10.5, 6.0)
PNG_DPI = 150
LEFT, RIGHT = 0.07, 0.98
_HEAD_CHARS = 60


def sheet(title: str, words: str, label: str = "FORECAST", height: float = 6.0) -> Figure:
    """Return a Figure with a headline, a line of words under it, and a label on the right."""
    figure = Figure(figsize=(SIZE_INCH[0], height), facecolor=p.PAPER.light)
    FigureCanvasAgg(figure)
    inch = 1 / height
    size = 15 * min(1, _HEAD_CHARS / max(1, len(title)))
    # User text: a "$" in a name must not start a formula.
    figure.text(LEFT, 1 - 0.17 * inch, title, size=size, weight="bold", va="top",
                color=p.INK.light, parse_math=False)  # fmt: skip
    figure.text(LEFT, 1 - 0.5 * inch, words, size=10.5, va="top", color=p.QUIET.light,
                parse_math=False)  # fmt: skip
    figure.text(
        RIGHT, 1 - 0.2 * inch, label, size=10, weight="bold", va="top", ha="right",
        color=p.PAPER.light,
        bbox={"boxstyle": "round,pad=0.4", "facecolor": p.TARGET.light, "edgecolor": "none"},
    )  # fmt: skip
    return figure


def degrees(celsius: float, fahrenheit: bool) -> float:
    """Return the figure on the axis."""
    return celsius * 1.8 + 32 if fahrenheit else celsius


def name_degrees(axes: Axes, fahrenheit: bool) -> None:
    """Write the unit beside the axis."""
    axes.set_ylabel(f"°{'F' if fahrenheit else 'C'}", rotation=0, labelpad=12, va="center")


def save(figure: Figure, path: Path) -> None:
    """Write a PNG, whole or not at all. Raises InputError when it is there already, is no .png,
    or the folder cannot be written."""
    if path.suffix.lower() != ".png":
        raise InputError(f"{path.name} is no PNG.", "Name a file that ends in .png.")
    buffer = io.BytesIO()
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")
        figure.savefig(buffer, format="png", dpi=PNG_DPI)
    try:
        if path.exists():
            raise InputError(f"{path.name} is there already.", "Choose another name.")
        replace(path, buffer.getvalue())
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(
            f"{path.name} cannot be written: {why}.", "Choose another place."
        ) from problem
