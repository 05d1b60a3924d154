"""Commands that read the record."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.runs.listing import RunDetails

NONE_YET = "No batch yet. See one tempered: snapgloss try."
RUN_NUMBER = click.argument("run_id", metavar="N", type=options.RUN_ID)


@click.command()
@click.option("--replaced", is_flag=True, help="List also logs that were read again instead.")
@options.as_json
@click.pass_context
def runs(ctx: click.Context, replaced: bool, as_json: bool) -> None:
    """List every batch, the newest first, and whose bars are to be graded now."""
    from snapgloss.runs.grading import due_looks
    from snapgloss.runs.listing import list_runs

    with options.open_record(ctx, to_read=True) as store:
        found, due = list_runs(store, replaced), due_looks(store)
    if as_json:
        options.print_json([asdict(run) for run in found])
    elif not found:
        click.echo(NONE_YET)
    else:
        from snapgloss.cli.tables import print_runs

        print_runs(found)
        for look in due:
            options.say(look.words)


@click.command()
@RUN_NUMBER
@options.as_json
@options.fahrenheit
@click.pass_context
def show(ctx: click.Context, run_id: int, as_json: bool, fahrenheit: bool) -> None:
    """Show one batch: its figures, what happened, notes and gaps."""
    from snapgloss.runs.listing import show_run

    with options.open_record(ctx, to_read=True) as store:
        details = show_run(store, run_id, fahrenheit)
    if as_json:
        options.print_json(_flat(details))
    else:
        from snapgloss.cli.tables import print_details

        print_details(details, fahrenheit)


@click.command()
@RUN_NUMBER
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Where to write it. Default: `reports` in the data folder.",
)
@options.as_json
@options.fahrenheit
@click.pass_context
def report(
    ctx: click.Context, run_id: int, out: Path | None, as_json: bool, fahrenheit: bool
) -> None:
    """Write the report of one batch as HTML, PNG and PDF."""
    from snapgloss.report import write_report

    folder = out or options.data_folder(ctx) / "reports"
    with options.open_record(ctx, to_read=True) as store:
        paths = write_report(store, run_id, folder, fahrenheit)
    if as_json:
        options.print_json({"run": run_id, **{k: str(v) for k, v in paths._asdict().items()}})
    else:
        for path in paths:
            click.echo(path)


def _flat(details: "RunDetails") -> dict[str, Any]:
    """Put what a list of runs says first, then the rest."""
    whole = asdict(details)
    return {**whole.pop("summary"), **whole}
