"""What `temper --port` does: follow the rig's sample, and keep its curve."""

import contextlib
from pathlib import Path

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options


def read_live(
    ctx: click.Context, port: str, cold_mc: int | None, chocolate: str, method: str,
    fahrenheit: bool,
) -> Path:  # fmt: skip
    """Follow the rig's sample, and return the file that its curve was written to."""
    from snapgloss.quality.kept_curves import About, write_curve
    from snapgloss.runs import sampling
    from snapgloss.runs.connect import connect
    from snapgloss.runs.sample_words import CURVES, name_by_clock

    cold_c = None if cold_mc is None else cold_mc / 1000
    with contextlib.closing(connect(port)) as link:
        told = sampling.read_live(
            link, cold_c, lambda words: click.echo(words, err=True), fahrenheit
        )
        rig = link.identity
    if not told.seconds:
        raise InputError(*sampling.NO_SAMPLE)
    about = About(chocolate, method)
    if rig:
        about = about._replace(rig=rig.board, simulated=rig.simulated)
    folder = options.data_folder(ctx) / CURVES
    path = write_curve(told.seconds, told.celsius, folder, name_by_clock(), about)
    click.echo(f"Curve: {path}", err=True)
    return path
