"""Keep a check of temper with the batch it belongs to."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.quality.temper_bands import GradedBar
    from snapgloss.quality.temper_smear import SmearTest
    from snapgloss.quality.temper_verdict import TemperVerdict


def check_run(ctx: click.Context, run_id: int) -> None:
    """Refuse a batch that is not there before a knife is dipped for it."""
    with options.open_record(ctx) as store:
        store.run(run_id)


def keep_knife(ctx: click.Context, run_id: int, knife: "SmearTest") -> None:
    """Keep what the knife showed."""
    from snapgloss.runs.knife import keep_smear

    with options.open_record(ctx) as store:
        keep_smear(store, run_id, knife)


def keep_curve(
    ctx: click.Context, run_id: int, verdict: "TemperVerdict", curve: Path, cold_mc: int | None
) -> None:
    """Keep a cooling curve as it was read, and its set ratio."""
    from snapgloss.quality.temper_file import read_curve
    from snapgloss.runs.sample_words import points_text

    table = read_curve(curve)
    text = points_text(table.seconds, table.celsius)
    with options.open_record(ctx) as store:
        store.add_curve(run_id, verdict.features.set_ratio, verdict.place, cold_mc, text)


def graded(ctx: click.Context) -> "list[GradedBar]":
    """The graded bars of the record; none when there is no record yet."""
    from snapgloss.runs.grading import graded_bars
    from snapgloss.store.engine import FILE_NAME

    if not (options.data_folder(ctx) / FILE_NAME).exists():
        return []
    with options.open_record(ctx, to_read=True) as store:
        return graded_bars(store)
