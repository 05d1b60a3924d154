"""The command that tells a rig what one of its batches taught."""

import contextlib
from pathlib import Path

import click

from snapgloss.cli import options


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.option("--port", required=True, help="Where the rig is; see `snapgloss ports`.")
@options.rig_file
@options.as_json
@click.pass_context
def teach(
    ctx: click.Context, run_id: int, port: str, rig: Path | None, as_json: bool
) -> None:  # fmt: skip
    """Tell a rig what its batch N taught, so that the next one lands better.

    `run` does it by itself after each batch. The rig takes it only while nothing is on, and
    none of its checks changes by it.
    """
    from snapgloss.rigs import description
    from snapgloss.runs import teaching
    from snapgloss.runs.connect import connect

    said = description.read(rig) if rig else description.BENCH_RIG
    with (
        options.open_record(ctx, to_read=True) as store,
        contextlib.closing(connect(port)) as link,
    ):
        taught = teaching.teach(link, store, run_id, said)
    if as_json:
        options.print_json(taught._asdict())
    else:
        click.echo(taught.words)
