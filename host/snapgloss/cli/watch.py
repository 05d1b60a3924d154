"""How a batch looks in a terminal: one live block, or plain lines where there is no terminal.

Everything goes to stderr; stdout is for the result.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from snapgloss.base.units import show_h_mm
from snapgloss.runs.moment import Progress
from snapgloss.runs.watch import Watch

if TYPE_CHECKING:
    from snapgloss.cli.live import LiveWatch

LEAST_COLUMNS = 60


class PlainWatch:
    """One line for each thing that happens; nothing between them."""

    def progress(self, progress: Progress) -> None:
        """A line is printed only when something happens."""

    def say(self, at_s: int, words: str) -> None:
        """Print one line with the time since the start."""
        click.echo(f"{show_h_mm(at_s):>5}  {words}", err=True)


@contextmanager
def watching(title: str, simulated: bool, fahrenheit: bool) -> Iterator[Watch]:
    """Give the watch that fits this terminal; title is what is tempered, such as a name."""
    live = _live(title, fahrenheit)
    if live is None:
        click.echo(f"{title}{' (simulated)' if simulated else ''}", err=True)
        yield PlainWatch()
        return
    with live:
        yield live


def _live(title: str, fahrenheit: bool) -> "LiveWatch | None":
    """The live block, where a terminal can show it."""
    if not sys.stderr.isatty():
        return None
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    if console.is_dumb_terminal or console.width < LEAST_COLUMNS or console.encoding != "utf-8":
        return None
    from snapgloss.cli.live import LiveWatch

    return LiveWatch(console, title, fahrenheit)
