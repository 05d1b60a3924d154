"""The commands that give the record to other programs, and take logs from them."""

from pathlib import Path

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

NEEDS_FILE = ("Parquet is no text.", "Name a file with --out.")


@click.command()
@click.argument("run_id", metavar="[N]", type=options.RUN_ID, required=False)
@click.option(
    "--as", "kind", type=click.Choice(["json", "csv", "parquet"]), default="json",
    show_default=True, help="JSON holds all of a batch, the tables its readings.",
)  # fmt: skip
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Default: print it.",
)  # fmt: skip
@click.option("--schema", is_flag=True, help="Print the JSON schema of a batch instead.")
@click.pass_context
def export(
    ctx: click.Context, run_id: int | None, kind: str, out: Path | None, schema: bool
) -> None:
    """Give a batch to another program, or without a number the list of all with their figures."""
    from snapgloss.report import export as exports

    if schema:
        _give(exports.schema_text(), out)
        return
    with options.open_record(ctx, to_read=True) as store:
        if kind == "json" and run_id is not None:
            text = exports.json_text(exports.run_document(store, run_id))
        else:
            table = exports.runs_table(store) if run_id is None else (
                exports.readings_table(store, run_id))  # fmt: skip
            if kind == "parquet":
                if out is None:
                    raise InputError(*NEEDS_FILE)
                exports.write_parquet(out, table)
                return
            text = exports.json_text(table) if kind == "json" else exports.csv_text(table)
    _give(text, out)


def _give(text: str, out: Path | None) -> None:
    if out is None:
        click.echo(text, nl=False)
        return
    from snapgloss.report.export import write_text_file

    write_text_file(out, text)
