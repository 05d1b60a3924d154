"""The commands over many batches: figures anew, charts, and batches side by side."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from collections.abc import Callable

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
    from snapgloss.runs.listing import clock_doubt_of
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
        found, doubt = store.figures(run_id), clock_doubt_of(store, run_id)
    if as_json:
        options.print_json({"doubt": doubt, **found} if doubt and found else found)
        return
    if not found:
        options.say(_none_yet(run_id, run.ended_utc_ms is not None))
        return
    from snapgloss.quality.figure_words import in_order, words_of

    if doubt:
        options.say(doubt)
    for name in in_order(found):
        value = found[name]
        shown = "-" if value is None else f"{value:.4g}"
        click.echo(f"{name:<22}{shown:>10}  {words_of(name)}".rstrip())


def _none_yet(run_id: int, is_over: bool) -> str:
    if is_over:
        return f"Run {run_id} has no figures. Work them out: snapgloss figures {run_id} --anew."
    return f"Run {run_id} has no figures yet: they are worked out when it ends."


@click.command()
@click.argument("figure", metavar="FIGURE")
@click.option("--chocolate", metavar="NAME", help="Only this chocolate.")
@click.option("--rig", metavar="NAME", help="Only this rig.")
@click.option("--change-run", type=options.RUN_ID, metavar="N", help="Before and from batch N on.")
@click.option("--change-bag", metavar="LOT", help="Before and from the first use of a bag on.")
@click.option("--change-firmware", metavar="VERSION", help="Before and from a firmware on.")
@picture
@options.as_json
@options.fahrenheit
@click.pass_context
def charts(
    ctx: click.Context, figure: str, chocolate: str | None, rig: str | None,
    change_run: int | None, change_bag: str | None, change_firmware: str | None,
    picture: Path | None, as_json: bool, fahrenheit: bool,
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

        write_chart(found[0], picture, fahrenheit)
    if as_json:
        options.print_json(options.plain(found))
        return
    for one in found:
        for line in _lines(one, fahrenheit):
            words = line.lstrip()
            click.echo(options.hanging(" " * (len(line) - len(words)), words))


def _batches(count: int) -> str:
    return "1 batch" if count == 1 else f"{count} batches"


def _shown(figure: str) -> "Callable[[float], str]":
    """How a value is written: degrees to a hundredth, all else to three figures."""
    return "{:.2f}".format if figure.endswith("_c") else "{:.3g}".format


def _change_words(found: "Repeated") -> str:
    change, shown = found.change, _shown(found.figure)
    if change is None:
        side = "before" if found.first_after else "after"
        return f"All batches were {side} the change: there is nothing to compare."
    before, after = shown(change.mean_before), shown(change.mean_after)
    return f"Before {before} ({change.before}), after {after} ({change.after}). {change.words}"


def _lines(found: "Repeated", fahrenheit: bool) -> list[str]:
    from snapgloss.quality.charts import RULE_WORDS
    from snapgloss.quality.figure_words import is_temperature, words_of
    from snapgloss.quality.log_doubts import left_out_words
    from snapgloss.runs.repeating import in_fahrenheit

    found = in_fahrenheit(found) if fahrenheit else found
    kind, chart, shown = found.kind, found.chart, _shown(found.figure)
    lines = [f"{kind.chocolate}, {kind.rig}{', simulated' if kind.simulated else ''}"]
    batches = _batches(len(chart.values))
    lines.append(
        f"  {words_of(found.figure, fahrenheit)}: mean {shown(chart.mean)} over {batches}"
    )
    if chart.low is not None and chart.high is not None:
        lines[-1] += f", usually {shown(chart.low)} to {shown(chart.high)}"
    if found.without:
        lines.append(f"  {found.without} more have no such figure.")
    if found.left_out:
        lines.append(f"  {left_out_words(found.left_out)}")
    lines.append(f"  {chart.words}")
    for signal in chart.signals:
        value = shown(chart.values[signal.at])
        lines.append(f"  Run {found.runs[signal.at]}, {value}: {RULE_WORDS[signal.rule]}.")
    if found.first_after is not None:
        lines.append(f"  {_change_words(found)}")
    for count in found.counts:
        at = f"{count.at:.1f}" if is_temperature(found.figure) else f"{count.at:g}"
        lines.append(
            f"  {count.good} of {count.of} good at {at} "
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
        options.print_json(
            {"runs": list(run_ids), "aligned": found.align, "partings": parts,
             "left_out": list(found.left_out)}
        )  # fmt: skip
        return
    for line in comparing.compared_lines(found, fahrenheit):
        options.say(line)
