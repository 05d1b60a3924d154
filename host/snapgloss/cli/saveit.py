"""The command that says what to do for a batch that went wrong."""

from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.quality.save_it import Card
    from snapgloss.store.store import Store

NOTHING = "Run {run}: nothing to save. Whether it is in temper is for the knife to say."
NO_RUN = ("No batch yet.", "See one tempered: snapgloss try.")


@click.command()
@click.argument("run_id", metavar="[N]", type=options.RUN_ID, required=False)
@click.option("--thick", is_flag=True, help="Say that the chocolate is too thick.")
@options.as_json
@options.fahrenheit
@click.pass_context
def saveit(
    ctx: click.Context, run_id: int | None, thick: bool, as_json: bool, fahrenheit: bool
) -> None:
    """Say what to do now for a batch that went wrong.

    At most one card: what happened, what to do, and when to melt it again. N is the number of
    the batch; without it, the newest.
    """
    from snapgloss.quality.save_it_run import card_of_run
    from snapgloss.runs.listing import clock_doubt_of

    with options.open_record(ctx, to_read=True) as store:
        run_id = newest(store) if run_id is None else run_id
        card = card_of_run(store, run_id, thick, fahrenheit)
        doubt = clock_doubt_of(store, run_id)
    if as_json:
        found = {"run": run_id, "card": card._asdict() if card else None}
        options.print_json({"doubt": doubt, **found} if doubt else found)
        return
    if doubt:
        options.say(doubt)
    if card is None:
        click.echo(NOTHING.format(run=run_id))
    else:
        _print(card, fahrenheit)


def newest(store: "Store") -> int:
    """Return the number of the newest batch. Raises InputError when there is none."""
    runs = store.runs()
    if not runs:
        raise InputError(*NO_RUN)
    return runs[0].id


def _print(card: "Card", fahrenheit: bool) -> None:
    from snapgloss.base.fahrenheit import in_fahrenheit

    click.echo(card.what)
    click.echo(f"Now: {card.now}")
    click.echo(card.give_up)
    click.echo(f"({in_fahrenheit(card.source) if fahrenheit else card.source})")
