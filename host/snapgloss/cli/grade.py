"""The commands about a batch's bars: one word grades them, counts and weights are optional."""

from pathlib import Path

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

VERDICTS = ("sell", "seconds", "re-melt", "remelt")
NOTHING_DUE = "No bars to grade now."
COUNT = click.IntRange(min=0)


@click.command()
@click.argument("run_id", metavar="[N]", type=options.RUN_ID, required=False)
@click.argument(
    "verdict", metavar="[sell|seconds|re-melt]", type=click.Choice(VERDICTS), required=False
)
@click.option(
    "--mark",
    "marks",
    multiple=True,
    metavar="MARK",
    help='film, dull, streaks, spots, soft, "no release" or cracks; may be given again.',
)
@click.option(
    "--photo", type=click.Path(path_type=Path), metavar="FILE", help="A photo; a copy is kept."
)
@click.option("--words", default="", metavar="WORDS", help="Anything else, in a line.")
@options.as_json
@click.pass_context
def grade(
    ctx: click.Context, run_id: int | None, verdict: str | None, marks: tuple[str, ...],
    photo: Path | None, words: str, as_json: bool,
) -> None:  # fmt: skip
    """Grade the bars of a batch: sell, seconds or re-melt.

    Without a number it lists the bars to look at now: a day, a week and a month after the batch,
    because bloom comes late. Nothing is written over: a second grade of the same look counts
    instead of the first, and both are kept.
    """
    if run_id is None:
        _list_due(ctx, as_json)
        return
    if verdict is None:
        raise InputError("The grade is missing.", f"Say it: snapgloss grade {run_id} sell.")
    from snapgloss.runs import grading

    with options.open_record(ctx) as store:
        kept = grading.grade(store, run_id, verdict, marks, photo, words, options.data_folder(ctx))
        summary = grading.bars_summary(store, run_id)
    if as_json:
        options.print_json(
            {"run": run_id, "kept": options.plain(kept), "bars": options.plain(summary)}
        )
        return
    click.echo(f"Run {run_id}: {kept.words[:1].lower()}{kept.words[1:]}.")
    from snapgloss.quality.grades import POINTS_WORDS, contradictions

    against = contradictions(summary.standings, summary.counts)
    for said in filter(None, [*against, POINTS_WORDS[summary.points_to]]):
        options.say(said)


def _list_due(ctx: click.Context, as_json: bool) -> None:
    from snapgloss.runs.grading import due_looks

    with options.open_record(ctx, to_read=True) as store:
        found = due_looks(store)
    if as_json:
        options.print_json(options.plain(found))
        return
    for look in found:
        options.say(look.words)
    if not found:
        click.echo(NOTHING_DUE)


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.option("--made", type=COUNT, help="Bars turned out.")
@click.option("--sold", type=COUNT, help="Bars sold, or good to sell.")
@click.option("--seconds", type=COUNT, help="Bars for seconds.")
@click.option("--remelt", type=COUNT, help="Bars to be melted again.")
@click.option("--label", "label_mg", type=options.BAR, help="Net weight on the label.")
@click.option(
    "--weighed",
    "nets_mg",
    type=options.WEIGHED,
    multiple=True,
    help="Net weight of a bar on the scale; give one for each bar. 0 g takes back those before.",
)
@options.as_json
@click.pass_context
def bars(
    ctx: click.Context, run_id: int, made: int | None, sold: int | None, seconds: int | None,
    remelt: int | None, label_mg: int | None, nets_mg: tuple[int, ...], as_json: bool,
) -> None:  # fmt: skip
    """Count a batch's bars and check net weights, or show what was counted.

    A later count corrects what an earlier one said of the same; both are kept. Weights are
    compared with the label and with how far a package may lie under it by EU directive 76/211/EEC.
    """
    from snapgloss.runs import grading

    counted = any(count is not None for count in (made, sold, seconds, remelt))
    if label_mg is not None and not nets_mg:
        raise InputError("Weights and label go together.", "Give --label and --weighed.")
    with options.open_record(ctx, to_read=not (counted or nets_mg)) as store:
        if counted:
            grading.count(store, run_id, made=made, sold=sold, seconds=seconds, remelt=remelt)
        if nets_mg:
            grading.weigh(store, run_id, label_mg, nets_mg)
        summary = grading.bars_summary(store, run_id)
    if as_json:
        options.print_json({"run": run_id, **options.plain(summary)})
        return
    for line in summary.lines or ["Nothing is known of these bars yet."]:
        options.say(line)


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.argument("words", metavar="[WORDS]", default="")
@click.option("--room", "room_mc", type=options.TEMPERATURE, help="Temperature of the room.")
@click.option(
    "--humidity", "humidity_permille", type=options.SHARE, help="Relative humidity of the room."
)
@options.as_json
@click.pass_context
def note(
    ctx: click.Context, run_id: int, words: str, room_mc: int | None,
    humidity_permille: int | None, as_json: bool,
) -> None:  # fmt: skip
    """Note something about a batch, or the room it was made in."""
    from snapgloss.runs import grading

    with options.open_record(ctx) as store:
        grading.note(store, run_id, words, room_mc, humidity_permille)
    if as_json:
        options.print_json({"run": run_id, "noted": True})
    else:
        click.echo(f"Noted for run {run_id}.")
