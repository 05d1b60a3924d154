"""The command for trays: in and out of the refrigerator with one word."""

import click

from snapgloss.cli import options


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.argument("place", metavar="[in|out]", type=click.Choice(["in", "out"]), required=False)
@click.option(
    "--tray",
    "tray_no",
    type=click.IntRange(1, 999),
    metavar="NUMBER",
    help="Which. Default: the next one goes in, the one in for longest comes out.",
)
@click.option(
    "--ago",
    "ago_s",
    type=options.SPAN,
    default="0 s",
    metavar="SPAN",
    help="How long ago that was. Default: now.",
)
@options.as_json
@click.pass_context
def tray(
    ctx: click.Context, run_id: int, place: str | None, tray_no: int | None, ago_s: int,
    as_json: bool,
) -> None:  # fmt: skip
    """Say that a tray of batch N went into the refrigerator or came out, or list its trays.

    A second entry about the same tray corrects the first; both are kept.
    """
    from snapgloss.quality.trays import trays_of
    from snapgloss.runs import trays

    with options.open_record(ctx, to_read=place is None) as store:
        store.run(run_id)
        moved = None if place is None else trays.move(store, run_id, place, tray_no, ago_s)
        found = trays_of(store.trays(run_id))
    if as_json:
        options.print_json(options.plain(found))
        return
    for one in found if moved is None else [moved]:
        options.say(f"{trays.words_of(one)} {trays.look_words(one)}")
    if not found:
        click.echo(f"No tray yet. The first goes in: snapgloss tray {run_id} in.")
