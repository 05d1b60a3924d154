"""The commands of the trace: bags, what went into a batch, labels, and the way between."""

from pathlib import Path
from typing import Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

NO_BAGS = 'No bag yet. Enter one: snapgloss bag "LOT" --name NAME --contains milk.'
best_before = click.option("--best-before", metavar="DAY", help="Such as 2027-06-30.")
contains = click.option(
    "--contains", multiple=True, metavar="ALLERGEN", help="May be given again."
)
may_contain = click.option(
    "--may-contain", multiple=True, metavar="ALLERGEN", help="May be given again."
)


@click.command()
@click.argument("lot", metavar="[LOT]", required=False)
@click.option("--name", metavar="NAME", help="The chocolate's name.")
@click.option("--supplier", metavar="NAME", help="Who made it.")
@click.option("--mass", "mass_g", type=options.MASS, help="What the bag holds.")
@best_before
@contains
@may_contain
@options.as_json
@click.pass_context
def bag(
    ctx: click.Context, /, lot: str | None, name: str | None, as_json: bool, **rest: Any
) -> None:
    """Enter a bag of chocolate by the lot on it, or list the bags.

    A second entry of a lot corrects what it names; both are kept. "none" takes something back.
    """
    from snapgloss.runs import lot_words, lots

    said = ""
    with options.open_record(ctx, to_read=lot is None) as store:
        if lot is not None:
            kept = lots.enter_bag(store, lot, name, **rest)
            said = "" if kept == lot.strip() else f"Bag {kept} is corrected: the same lot."
        bags = store.bags()
    if as_json:
        options.print_json(options.plain(bags))
        return
    if said:
        options.say(said)
    for row in bags:
        options.say(f"{row.lot}: {lot_words.bag_words(row)}")
    if not bags:
        options.say(NO_BAGS)


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.option("--bag", "lot", metavar="LOT", help="Chocolate of this bag went in.")
@click.option(
    "--remelt", "from_run", type=options.RUN_ID, metavar="N", help="Bars of this batch went in."
)
@click.option("--mass", "mass_g", type=options.MASS, help="How much; 0 g takes it back.")
@options.as_json
@click.pass_context
def used(
    ctx: click.Context, run_id: int, lot: str | None, from_run: int | None, mass_g: int | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Say what went into a batch: chocolate of a bag, or bars that are melted again."""
    from snapgloss.runs import lot_words, lots

    if (lot is None) == (from_run is None):
        raise InputError("Say one thing that went in.", "Give --bag LOT or --remelt N.")
    with options.open_record(ctx) as store:
        if lot is not None:
            lots.use_bag(store, run_id, lot, mass_g)
        elif from_run is not None:
            lots.use_bars(store, run_id, from_run, mass_g)
        sources = lots.ledger_of(store).sources(run_id)
        lines = lot_words.source_lines(store, run_id)
    if as_json:
        options.print_json(options.plain(sources))
        return
    for line in lines or [f"Nothing is said to have gone into run {run_id}."]:
        options.say(line)


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.option("--lot", required=True, metavar="LOT", help="The lot of these bars.")
@click.option("--net", "net_mg", type=options.BAR, required=True, help="Net weight of a bar.")
@click.option("--best-before", required=True, metavar="DAY", help="Such as 2027-06-30.")
@click.option("--name", default="", metavar="NAME", help="Default: the chocolate's name.")
@contains
@may_contain
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.pdf",
    help="Default: `labels` in the data folder.",
)
@options.as_json
@click.pass_context
def label(
    ctx: click.Context, /, run_id: int, out: Path | None, as_json: bool, **text: Any
) -> None:
    """Write the label of a batch's bars as PDF, and keep what stands on it.

    Allergens are those of its bags, over all re-melts, and whatever you add.
    """
    from snapgloss.report.label import write_label
    from snapgloss.runs import lots

    folder = options.data_folder(ctx) / "labels"
    with options.open_record(ctx) as store:
        found, cautions = lots.label_text(store, run_id, **text)
        path = write_label(found, out or folder / lots.label_file(run_id, found.lot))
        lots.keep_label(store, run_id, found)
    if as_json:
        options.print_json({**found._asdict(), "cautions": cautions, "pdf": str(path)})
        return
    for caution in cautions:
        options.say(caution)
    click.echo(path)


@click.command()
@click.argument("lot", metavar="[LOT]", required=False)
@click.option("--run", "run_id", type=options.RUN_ID, metavar="N", help="Trace this batch.")
@options.as_json
@click.pass_context
def trace(ctx: click.Context, lot: str | None, run_id: int | None, as_json: bool) -> None:
    """Trace a lot: a bag to its bars, bars to their bags; or a batch both ways."""
    from snapgloss.runs import lot_words, lots

    if (lot is None) == (run_id is None):
        raise InputError("Say one lot, or one batch.", "Give LOT or --run N.")
    with options.open_record(ctx, to_read=True) as store:
        found = (
            lots.trace(store, lot) if lot is not None else lots.trace_of_run(store, run_id or 0)
        )
        lines = lot_words.trace_lines(store, found)
    if as_json:
        options.print_json(options.plain(found))
        return
    for line in lines:
        click.echo(options.hanging("", line).replace("\n", "\n  "))
