"""The command about the window of a chocolate."""

from pathlib import Path

import click

from snapgloss.cli import options


@click.command()
@click.argument("chocolate", metavar="CHOCOLATE")
@click.option("--rig", metavar="NAME", help="Only this rig. Default: that of the newest batch.")
@click.option("--explore", is_flag=True, help="Suggest the batch that would teach most.")
@click.option(
    "--save",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the suggested schedule to this file, which must not be there yet.",
)
@options.picture
@options.as_json
@options.fahrenheit
@click.pass_context
def window(
    ctx: click.Context, chocolate: str, rig: str | None, explore: bool, save: Path | None,
    picture: Path | None, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Say where a chocolate comes out right, by its graded batches, and what to make next.

    Such as `snapgloss window "Lantern 72"`. Bad bars that cooling or store spoilt do not count.
    """
    from snapgloss.runs.windows import window_data, window_lines, windowed

    with options.open_record(ctx, to_read=True) as store:
        found = windowed(store, chocolate, rig, "learn" if explore else "good")
    if picture is not None:
        from snapgloss.report import planned
        from snapgloss.report.window_picture import draw_window

        planned.save(draw_window(found, fahrenheit), picture)
    if save is not None:
        from snapgloss.schedules import files

        files.write(save, found.schedule)
    if as_json:
        options.print_json(window_data(found))
        return
    for line in window_lines(found, fahrenheit):
        options.say(line)
    if save is not None:
        options.say(f"Written to {save}. Look at it: snapgloss schedule {save}")
