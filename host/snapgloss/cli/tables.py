"""Runs on a terminal: a list, and one run in full."""

from collections.abc import Iterator
from datetime import datetime

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from snapgloss.base.units import show_difference, show_h_mm, show_mass, show_temperature
from snapgloss.cli.options import hanging
from snapgloss.quality.words import of_working, probe_row, show_minutes
from snapgloss.runs.listing import RunDetails, RunSummary

TEMPERATURES = (
    ("lowest_c", "Lowest before work"),
    ("working_lowest_c", "Lowest while working"),
    ("working_highest_c", "Highest while working"),
    ("wall_peak_c", "Plate at most, from the rewarm on"),
)
SPANS = (
    ("minutes_total", "From start to end"),
    ("minutes_under", "Under it"),
    ("minutes_over", "Over it"),
    ("minutes_unrecorded", "Not recorded"),
)
SPREADS = (
    ("overshoot_c", "Above the working target at most"),
    ("hold_rms_c", "Off the target, root mean square"),
)


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
        console.print(Text(f"      {run.outcome}. {run.words}".rstrip(), "dim"))


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
    for label, value in _values(details, fahrenheit):
        table.add_row(f"  {label}", value)
    return table


def _values(details: RunDetails, fahrenheit: bool) -> Iterator[tuple[str, str]]:
    figures = details.figures
    peak = "Highest after seeding" if details.summary.method == "seeded" else "Peak on the rewarm"
    for name, label in (*TEMPERATURES, ("peak_rewarm_c", peak)):
        value = figures.get(name)
        if value is not None:
            yield label, show_temperature(round(value * 1000), fahrenheit)
    for name, label in SPREADS:
        value = figures.get(name)
        if value is not None:
            yield label, show_difference(value, fahrenheit, 2)
    if figures:
        inside, working = figures.get("minutes_in_window"), figures.get("minutes_working")
        yield "In the window", of_working(inside or 0.0, working or 0.0)
    for name, label in SPANS:
        value = figures.get(name)
        if value:
            yield label, show_minutes(value)
    if figures:
        gap_s = figures.get("longest_gap_s")
        yield "Longest gap in the record", show_minutes(gap_s / 60) if gap_s else "none"
        yield "Probe", probe_row(not details.firmware, fahrenheit)


def _local(began: str) -> str:
    """Return the computer's own time of an ISO moment, to the minute."""
    return f"{datetime.fromisoformat(began).astimezone():%Y-%m-%d %H:%M}"
