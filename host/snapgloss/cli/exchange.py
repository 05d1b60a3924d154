"""The commands that give the record to other programs, and take logs from them."""

from pathlib import Path
from typing import Any

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


class StepAt(click.ParamType[tuple[str, int]]):
    """A step and when it began: "work=55 min"."""

    name = "STEP"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, int]:
        """Return the step's word and seconds."""
        word, _, span = str(value).partition("=")
        return word.strip(), options.SPAN.convert(span.strip(), param, ctx)


@click.command("import")
@click.argument("log", metavar="LOG.csv", type=click.Path(path_type=Path))
@click.option("--celsius", metavar="COLUMN", help="Column of the chocolate in degC.")
@click.option("--fahrenheit", metavar="COLUMN", help="Column of the chocolate in degF.")
@click.option("--time", metavar="COLUMN", help="Column of day and time.")
@click.option("--seconds", metavar="COLUMN", help="Column of seconds since some start.")
@click.option("--minutes", metavar="COLUMN", help="Column of minutes since some start.")
@click.option("--began", metavar="MOMENT", help='When that was: "2026-11-25 10:00".')
@click.option("--time-format", metavar="FORMAT", help='Such as "%d/%m/%Y %H:%M:%S".')
@click.option("--zone", metavar="ZONE", help="Such as Europe/Berlin. Default: this computer's.")
@click.option("--day", metavar="DAY", help="Day of the first reading, of times without one.")
@click.option(
    "--gaps", is_flag=True, help="The logger was off in a long pause; its clock is right."
)
@click.option(
    "--step", "steps", type=StepAt(), multiple=True, metavar="STEP=SPAN",
    help='When a step began, from the first reading: "work=55 min"; may be given again.',
)  # fmt: skip
@click.option("--chocolate", required=True, metavar="NAME", help="Your name for it.")
@options.kind
@click.option(
    "--method", type=click.Choice(["seeded", "cooled", "kept"]), default="seeded",
    show_default=True, help="How it was tempered.",
)  # fmt: skip
@options.mass
@click.option("--window-low", "low_mc", type=options.TEMPERATURE, help="Window for working, from.")
@click.option("--window-high", "high_mc", type=options.TEMPERATURE, help="Window, to.")
@click.option("--work", "work_mc", type=options.TEMPERATURE, help="Temperature meant for work.")
@click.option(
    "--rig", default="by hand", show_default=True, metavar="NAME", help="What it was on."
)
@click.option("--workshop", default="", metavar="NAME", help="Whose batch it is.")
@click.option(
    "--instead", type=options.RUN_ID, metavar="N",
    help="The run from a log read wrongly that this one replaces; it is kept, and not listed.",
)  # fmt: skip
@options.as_json
@click.pass_context
def import_(ctx: click.Context, /, log: Path, as_json: bool, **given: Any) -> None:
    """Read a logger's CSV, so that a batch tempered by hand counts, too.

    You say which column is what, by its name in the file or its number from 1. What can be read in
    two ways is refused with its line.
    """
    from snapgloss.quality.log_file import LogColumns
    from snapgloss.runs import importing

    names = LogColumns.__dataclass_fields__
    columns = LogColumns(**{name: given[name] for name in names})
    low_mc, high_mc = given["low_mc"], given["high_mc"]
    if (low_mc is None) != (high_mc is None):
        raise InputError("A window has two edges.", "Give --window-low and --window-high.")
    batch = importing.HandBatch(
        given["chocolate"], given["kind"] or "dark", given["method"], given["mass_g"],
        given["steps"], None if low_mc is None else (low_mc, high_mc), given["work_mc"],
        given["rig"], given["workshop"],
    )  # fmt: skip
    with options.open_record(ctx) as store:
        found = importing.import_log(store, log, columns, batch, given["instead"])
    if as_json:
        options.print_json(options.plain(found))
        return
    for line in [f"Run {found.run}. {found.words}", *found.cautions]:
        options.say(line)


@click.command()
@options.as_json
@click.pass_context
def pack(ctx: click.Context, as_json: bool) -> None:
    """Make the record smaller: pack the readings of batches over for more than a day.

    Nothing is lost; they are read as before. Close other programs that use the record first.
    """
    from snapgloss.runs.packing import pack_old

    with options.open_record(ctx) as store:
        found = pack_old(store)
    if as_json:
        options.print_json(found._asdict())
    else:
        batches = "1 batch" if found.runs == 1 else f"{found.runs} batches"
        click.echo(f"{found.readings} readings of {batches} packed.")
