"""The command that says what bad bars come of: bowl or refrigerator, and what to change."""

from typing import TYPE_CHECKING

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.base.records import Reading
    from snapgloss.quality.causes import Answer


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.option(
    "--mark", "marks", multiple=True, metavar="MARK",
    help='Wrong beside what was graded: film, dull, streaks, spots, soft, "no release", cracks, '
    'thick, "late bloom"; may be given again.',
)  # fmt: skip
@click.option("--refrigerator", "fridge_mc", type=options.TEMPERATURE, help="Air in it.")
@click.option("--moulds", "mould_mc", type=options.TEMPERATURE, help="Moulds as they were filled.")
@click.option("--bars", "bar_mc", type=options.TEMPERATURE, help="Bars as they were turned out.")
@click.option(
    "--store", "store_mc", type=options.TEMPERATURE, nargs=2, metavar="COOLEST WARMEST",
    help="The store in a day.",
)  # fmt: skip
@click.option("--damp", "store_permille", type=options.SHARE, help="Humidity of the store.")
@click.option("--remelted", "remelt_permille", type=options.SHARE, help="Tempered before.")
@options.as_json
@options.fahrenheit
@click.pass_context
def why(
    ctx: click.Context, run_id: int, marks: tuple[str, ...], fridge_mc: int | None,
    mould_mc: int | None, bar_mc: int | None, store_mc: tuple[int, int] | None,
    store_permille: int | None, remelt_permille: int | None, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Say what bad bars come of: bowl or refrigerator, and what to change.

    Goes by the marks of the bars' grades, the record of the bowl, the knife, the trays, and what
    you tell it of cooling, moulds and store; nothing told is kept.
    """
    from snapgloss.quality.causes_told import Told
    from snapgloss.runs.why import why as ask

    coolest_mc, warmest_mc = store_mc or (None, None)
    told = Told(
        fridge_c=_part(fridge_mc, 1000), mould_c=_part(mould_mc, 1000),
        bar_c=_part(bar_mc, 1000), store_low_c=_part(coolest_mc, 1000),
        store_high_c=_part(warmest_mc, 1000), store_humidity_percent=_part(store_permille, 10),
        remelt_share=_part(remelt_permille, 1000),
    )  # fmt: skip
    with options.open_record(ctx, to_read=True) as store:
        folder = options.data_folder(ctx) / "curves"
        found = ask(store, run_id, marks, told, fahrenheit, folder)
        zero_ms = _zero_ms(store.readings(run_id)) if found.causes else 0
    if as_json:
        options.print_json({"run": run_id, **options.plain(found)})
        return
    _print(found, zero_ms)


def _part(value: int | None, parts: int) -> float | None:
    return None if value is None else value / parts


def _zero_ms(readings: "list[Reading]") -> int:
    from snapgloss.quality.spans import start_ms

    return start_ms(readings)


def _print(found: "Answer", zero_ms: int) -> None:
    """The sentence, then what else it may be, the likeliest first."""
    from snapgloss.quality.causes import stretch_words

    options.say(found.words)
    if found.remelt:
        options.say(found.remelt)
    for at, cause in enumerate(found.causes, 1):
        fits = f"fits {', '.join(cause.fits)}"
        shown = stretch_words(cause, zero_ms)
        about = "; ".join(part for part in (fits, shown, cause.source) if part)
        click.echo(
            options.hanging(f"{at}. ", f"{cause.what} {cause.now if at > 1 else ''}".strip())
        )
        click.echo(options.hanging("   ", f"({about})"))
    for words in found.measure:
        options.say(words)
