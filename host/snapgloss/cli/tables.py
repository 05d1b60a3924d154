"""Runs on a terminal: a list, and one run in full."""

from collections.abc import Iterator
from datetime import datetime

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from snapgloss.base.units import show_h_mm, show_mass, show_temperature
from snapgloss.cli.options import hanging
from snapgloss.quality.grades import VERDICT_WORDS
from snapgloss.runs.figure_lines import figure_lines
from snapgloss.runs.listing import RunDetails, RunSummary


def print_runs(runs: list[RunSummary]) -> None:
    """Print a list of runs; each takes two lines so that the words have room."""
    console = Console(highlight=False, soft_wrap=False)
    for run in runs:
        head = Text.assemble(
            (f"{run.run:>4}  ", "bold"),
            f"{_local(run.began)}  {run.chocolate}, {show_mass(run.mass_g)}, {run.method}",
            ("  simulated" if run.simulated else "", "italic"),
        )
        console.print(head)
        grade = f" Bars: {VERDICT_WORDS[run.grade]}." if run.grade else ""
        words = hanging("      ", f"{run.outcome}. {run.words}{grade}".rstrip())
        console.print(Text(words, "dim"), soft_wrap=True)


def print_details(details: RunDetails, fahrenheit: bool) -> None:
    """Print one run in full."""
    console = Console(highlight=False)
    for head in _head(details, fahrenheit):
        console.print(head)
    console.print(_figures(details, fahrenheit))
    for event in details.events:
        console.print(f"{show_h_mm(event.at_s):>8}  {event.words}")
    for title, lines in (
        ("Lots", details.lots),
        ("Trays", details.trays),
        ("Bars", details.bars.lines),
        ("Notes", details.notes),
        ("Probes", details.probes),
        ("Lost readings", details.gaps),
    ):
        if lines:
            console.print(f"\n{title}", style="bold")
            for line in lines:
                click.echo(hanging("  ", line))


def _head(details: RunDetails, fahrenheit: bool) -> Iterator[Text]:
    run = details.summary
    yield Text(f"Run {run.run}: {run.chocolate}, {show_mass(run.mass_g)}, {run.method}", "bold")
    where = "simulated rig" if run.simulated else run.rig
    workshop = f", {run.workshop}" if run.workshop else ""
    firmware = f", firmware {details.firmware}" if details.firmware else ""
    yield Text(f"{_local(run.began)}, {where}{firmware}{workshop}")
    low, high, work = (
        show_temperature(value_mc, fahrenheit)
        for value_mc in (details.window_low_mc, details.window_high_mc, details.work_mc)
    )
    yield Text(f"Window {low} to {high}, working at {work}")
    yield Text(f"{run.outcome.capitalize()}. {run.words}".rstrip())


def _figures(details: RunDetails, fahrenheit: bool) -> Table:
    table = Table.grid(padding=(0, 2))
    for label, value in figure_lines(details, fahrenheit):
        table.add_row(f"  {label}", value)
    return table


def _local(began: str) -> str:
    """Return the computer's own time of an ISO moment, to the minute."""
    return f"{datetime.fromisoformat(began).astimezone():%Y-%m-%d %H:%M}"
