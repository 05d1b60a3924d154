"""The commands over many batches: figures anew, charts, and batches side by side."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.runs.repeating import Repeated

picture = click.option(
    "--picture", type=click.Path(path_type=Path), metavar="FILE.png", help="Draw it."
)


@click.command()
@click.argument("run_id", metavar="[N]", type=options.RUN_ID, required=False)
@click.option("--anew", is_flag=True, help="Work them out anew from the record first.")
@options.as_json
@click.pass_context
def figures(ctx: click.Context, run_id: int | None, anew: bool, as_json: bool) -> None:
    """Print the figures of a batch by name, or with --anew work out those of every batch."""
    from snapgloss.runs.outcome import keep_figures
    from snapgloss.runs.recompute import recompute_figures

    if run_id is None and not anew:
        raise InputError("Say which batch.", "Give its number, or --anew for all.")
    with options.open_record(ctx, to_read=not anew) as store:
        if run_id is None:
            count = recompute_figures(store)
            if as_json:
                options.print_json({"recomputed": count})
            else:
                click.echo(f"Figures of {count} batches worked out anew.")
            return
        run = store.run(run_id)
        if anew and run.ended_utc_ms is not None:
            keep_figures(store, run_id)
        found = store.figures(run_id)
    if as_json:
        options.print_json(found)
        return
    from snapgloss.quality.figure_words import FIGURE_WORDS

    for name, value in found.items():
        shown = "-" if value is None else f"{value:.4g}"
        click.echo(f"{name:<22}{shown:>10}  {FIGURE_WORDS.get(name, '')}".rstrip())


@click.command()
@click.argument("figure", metavar="FIGURE")
@click.option("--chocolate", metavar="NAME", help="Only this chocolate.")
@click.option("--rig", metavar="NAME", help="Only this rig.")
@click.option("--change-run", type=options.RUN_ID, metavar="N", help="Before and from batch N on.")
@click.option("--change-bag", metavar="LOT", help="Before and from the first use of a bag on.")
@click.option("--change-firmware", metavar="VERSION", help="Before and from a firmware on.")
@picture
@options.as_json
@click.pass_context
def charts(
    ctx: click.Context, figure: str, chocolate: str | None, rig: str | None,
    change_run: int | None, change_bag: str | None, change_firmware: str | None,
    picture: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Chart a figure over all batches of a chocolate on a rig: which batch strays?

    Such as `snapgloss charts lowest_c`. Names of figures: `snapgloss figures N`.
    """
    from snapgloss.runs.repeating import ChangeAt, repeated

    at = ChangeAt(change_run, change_bag, change_firmware)
    if sum(one is not None for one in at) > 1:
        raise InputError("Two changes at once cannot be told apart.", "Give one.")
    with options.open_record(ctx, to_read=True) as store:
        found = repeated(store, figure, chocolate, rig, at if any(at) else None)
    if picture is not None:
        if len(found) > 1:
            raise InputError("There are several charts.", "Say --chocolate and --rig.")
        from snapgloss.report.chart_picture import write_chart

        write_chart(found[0], picture)
    if as_json:
        options.print_json(options.plain(found))
        return
    for one in found:
        for line in _lines(one):
            click.echo(line)


def _batches(count: int) -> str:
    return "1 batch" if count == 1 else f"{count} batches"


def _lines(found: "Repeated") -> list[str]:
    from snapgloss.quality.charts import RULE_WORDS
    from snapgloss.quality.figure_words import FIGURE_WORDS

    kind, chart = found.kind, found.chart
    lines = [f"{kind.chocolate}, {kind.rig}{', simulated' if kind.simulated else ''}"]
    lines.append(
        f"  {FIGURE_WORDS[found.figure]}: mean {chart.mean:.3g} over {len(chart.values)} batches"
    )
    if chart.low is not None and chart.high is not None:
        lines[-1] += f", usually {chart.low:.3g} to {chart.high:.3g}"
    if found.without:
        lines.append(f"  {found.without} more have no such figure.")
    lines.append(f"  {chart.words}")
    for signal in chart.signals:
        value = chart.values[signal.at]
        lines.append(f"  Run {found.runs[signal.at]}, {value:.3g}: {RULE_WORDS[signal.rule]}.")
    if found.change is not None:
        before, after = found.change.mean_before, found.change.mean_after
        lines.append(
            f"  Before {before:.3g} ({found.change.before}), after {after:.3g} "
            f"({found.change.after}). {found.change.words}"
        )
    for count in found.counts:
        lines.append(
            f"  {count.good} of {count.of} good at {count.at:g} "
            f"({count.low:.0f} to {count.high:.0f} of 100 may be so)"
        )
    return lines


@click.command()
@click.argument("run_ids", metavar="N N ...", type=options.RUN_ID, nargs=-1, required=True)
@click.option(
    "--at", "align", default="cooling", show_default=True, metavar="STEP",
    help="Step at whose beginning they are aligned, such as seeding or working.",
)  # fmt: skip
@picture
@options.as_json
@options.fahrenheit
@click.pass_context
def compare(
    ctx: click.Context, run_ids: tuple[int, ...], align: str, picture: Path | None, as_json: bool,
    fahrenheit: bool,
) -> None:  # fmt: skip
    """Put batches side by side: where do they part?

    Each is compared with the first. A difference counts beyond the probe's uncertainty and noise.
    """
    from snapgloss.runs import comparing

    with options.open_record(ctx, to_read=True) as store:
        found = comparing.compare(store, run_ids, align)
    if picture is not None:
        from snapgloss.report.compare_picture import write_comparison

        write_comparison(found, picture, fahrenheit)
    if as_json:
        parts = options.plain(found.partings)
        options.print_json({"runs": list(run_ids), "aligned": found.align, "partings": parts})
        return
    for line in comparing.compared_lines(found, fahrenheit):
        click.echo(line)
