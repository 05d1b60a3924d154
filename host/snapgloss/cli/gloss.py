"""The commands for gloss and snap by a tablet: the card, a photo of it in a bar, a sound."""

from pathlib import Path

import click

from snapgloss.cli import options

KEPT = click.option(
    "--kept", is_flag=True, help="It is the bar that you keep, which others are compared with."
)


@click.command()
@click.option("--paper", type=click.Choice(["A4", "letter"]), default="A4", help="Default: A4.")
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.pdf",
    help="Where to write it. Default: line-card.pdf in the data folder.",
)  # fmt: skip
@click.pass_context
def linecard(ctx: click.Context, paper: str, out: Path | None) -> None:
    """Write the line card as PDF: to print, and to photograph in a bar."""
    from snapgloss.report.line_card import write_line_card

    click.echo(write_line_card(out or options.data_folder(ctx) / "line-card.pdf", paper))


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.argument("photos", metavar="[PHOTO]...", type=click.Path(path_type=Path), nargs=-1)
@KEPT
@options.as_json
@click.pass_context
def gloss(
    ctx: click.Context, run_id: int, photos: tuple[Path, ...], kept: bool, as_json: bool
) -> None:
    """Say how sharply a bar of batch N mirrors the line card, or list what was said.

    Each photo is kept, nothing is written over. Figures are relative: they compare bars that were
    photographed with one tablet and one print.
    """
    from snapgloss.runs import gloss as glosses

    with options.open_record(ctx, to_read=not photos) as store:
        store.run(run_id)
        folder = options.data_folder(ctx)
        found = [glosses.keep_gloss(store, run_id, photo, kept, folder) for photo in photos]
        lines, trend = glosses.gloss_lines(store, run_id), glosses.gloss_trend(store, run_id)
    if as_json:
        options.print_json(
            {"run": run_id, "relative": True, "photos": options.plain(found),
             "trend": options.plain(trend)}
        )  # fmt: skip
        return
    for line in lines or [f"No photo yet: snapgloss gloss {run_id} PHOTO."]:
        options.say(line)


@click.command()
@click.argument("run_id", metavar="N", type=options.RUN_ID)
@click.argument("sounds", metavar="[SOUND]...", type=click.Path(path_type=Path), nargs=-1)
@KEPT
@options.as_json
@click.pass_context
def snap(
    ctx: click.Context, run_id: int, sounds: tuple[Path, ...], kept: bool, as_json: bool
) -> None:
    """Say how loud and how high a bar of batch N snaps, by a WAV file, or list what was said.

    Each sound is kept, nothing is written over. Figures are relative: they compare bars that were
    broken in one session.
    """
    from snapgloss.runs import gloss as glosses

    with options.open_record(ctx, to_read=not sounds) as store:
        store.run(run_id)
        folder = options.data_folder(ctx)
        found = [glosses.keep_snap(store, run_id, sound, kept, folder) for sound in sounds]
        lines, trends = glosses.snap_lines(store, run_id), glosses.snap_trends(store, run_id)
    if as_json:
        options.print_json(
            {"run": run_id, "relative": True, "sounds": options.plain(found),
             "loudness": options.plain(trends[0]), "height": options.plain(trends[1])}
        )  # fmt: skip
        return
    for line in lines or [f"No sound yet: snapgloss snap {run_id} SOUND."]:
        options.say(line)
