"""The live block: the bowl's temperature large, the step, the time left, and what to do now."""

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.panel import Panel
from rich.progress_bar import ProgressBar
from rich.table import Table
from rich.text import Text

from snapgloss.base.units import f_from_c, show_h_mm, show_temperature
from snapgloss.cli.clockface import ROWS, large
from snapgloss.runs.moment import Progress
from snapgloss.runs.words import about

MOST_COLUMNS = 80
ECHO_COLUMNS = 2  # a terminal echoes ^C after the block; it must not wrap
NUMBER_COLUMNS = 21  # "-178.6" drawn large
REFRESH_PER_S = 8
BEHIND_SHOWN = 10  # readings: fewer are fetched within a second


class LiveWatch:
    """A Watch that redraws one block; what is said scrolls above it."""

    def __init__(self, console: Console, title: str, fahrenheit: bool) -> None:
        self._console, self._title, self._fahrenheit = console, title, fahrenheit
        self._progress: Progress | None = None
        self._live = Live(
            console=console,
            get_renderable=self.block,
            refresh_per_second=REFRESH_PER_S,
            transient=True,
        )

    def progress(self, progress: Progress) -> None:
        """Take the moment to draw; the block is redrawn by its own clock."""
        self._progress = progress

    def say(self, at_s: int, words: str) -> None:
        """Print a line above the block."""
        self._console.print(Text(f"{show_h_mm(at_s):>5}  {words}"))

    def __enter__(self) -> "LiveWatch":
        self._live.start()
        return self

    def __exit__(self, *_fault: object) -> None:
        self._live.stop()

    def block(self) -> RenderableType:
        """Draw the present moment."""
        if self._progress is None:
            return Text(f"{self._title}: waiting for the rig")
        return draw(self._progress, self._title, self._fahrenheit, self._console.width)


def draw(now: Progress, title: str, fahrenheit: bool, columns: int) -> RenderableType:
    """Return the block of one moment, at most MOST_COLUMNS wide."""
    held_back = f"Heat is held back: {now.withheld}." if now.withheld else ""
    body = Group(
        _upper(now, fahrenheit),
        "",
        Text(now.now, "reverse bold" if now.waiting else "bold"),
        Text("\n".join([held_back, *([now.card, ""] if now.card else [])]), "yellow"),
        _bar(now),
        Text(_lower(now, fahrenheit), "dim"),
    )
    return Panel(
        body,
        title=title,
        title_align="left",
        subtitle="simulated" if now.simulated else None,
        subtitle_align="right",
        padding=(1, 2),
        width=min(columns, MOST_COLUMNS) - ECHO_COLUMNS,
    )


def _upper(now: Progress, fahrenheit: bool) -> Table:
    """The large number left, the step and its times right."""
    grid = Table.grid(padding=(0, 2))
    grid.add_column(width=NUMBER_COLUMNS, no_wrap=True)
    grid.add_column()
    step = f"Step {now.step_no} of {now.steps}" if now.step_no else ""
    words = Text.assemble(step, "\n", (now.step_words, "bold"), "\n", _left(now))
    grid.add_row(_number(now.product_mc, fahrenheit), words)
    return grid


def _number(product_mc: int | None, fahrenheit: bool) -> Text:
    if product_mc is None:
        return Text("\nno reading\n", "bold")
    degrees = f_from_c(product_mc / 1000) if fahrenheit else product_mc / 1000
    rows = large(f"{degrees:.1f}")
    unit = "°F" if fahrenheit else "°C"
    rows[ROWS - 2] = f"{rows[ROWS - 2]} {unit}"
    return Text("\n".join(rows), "bold")


def _left(now: Progress) -> str:
    if now.step_left_s is None:
        return ""
    here = f"about {about(now.step_left_s)} in this step"
    return here if now.batch_left_s is None else f"{here}, {about(now.batch_left_s)} in all"


def _bar(now: Progress) -> Table:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(ratio=1)
    grid.add_column(justify="right", width=5)
    grid.expand = True
    grid.add_row(ProgressBar(total=1.0, completed=now.share_done), f"{now.share_done:.0%}")
    return grid


def _lower(now: Progress, fahrenheit: bool) -> str:
    known = [("plate", now.plate_mc), ("room", now.room_mc)]
    parts = [f"{name} {show_temperature(mc, fahrenheit)}" for name, mc in known if mc is not None]
    behind = [f"catching up, {now.behind} to go"] if now.behind > BEHIND_SHOWN else []
    return "   ".join([f"{show_h_mm(now.at_s)} since the start", *parts, *behind])
