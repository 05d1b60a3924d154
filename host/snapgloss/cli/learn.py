"""The command that learns a rig from its runs."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.rigs.drift import Drift
    from snapgloss.rigs.heat_model import Log
    from snapgloss.rigs.learn import Fit


@click.command()
@click.argument("run_ids", metavar="N...", type=options.RUN_ID, nargs=-1, required=True)
@options.rig_file
@click.option(
    "--room",
    "room_mc",
    type=options.TEMPERATURE,
    help="Temperature of the room. Default: as the room's probe says.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the rig as learned from the last run to this file, which must not be there yet.",
)
@options.picture
@options.as_json
@click.pass_context
def learn(
    ctx: click.Context,
    run_ids: tuple[int, ...],
    rig: Path | None,
    room_mc: int | None,
    out: Path | None,
    picture: Path | None,
    as_json: bool,
) -> None:
    """Learn a rig's figures from batches N, and say how each moves from one to the next.

    The chocolate must have melted and cooled in them. How well a figure is known goes into the
    rig's file, and makes its forecast narrower.
    """
    from snapgloss.rigs import description
    from snapgloss.rigs.drift import drifts
    from snapgloss.rigs.learn import learn as learn_from
    from snapgloss.rigs.learn import learned_rig
    from snapgloss.runs.learning import log_of_run

    said = description.read(rig) if rig else description.BENCH_RIG
    room_c = None if room_mc is None else room_mc / 1000
    with options.open_record(ctx, to_read=True) as store:
        logs = [log_of_run(store, run_id, room_c) for run_id in run_ids]
    fits = [learn_from(log, said) for log in logs]
    moves = drifts(fits)
    if picture:
        _draw(run_ids[-1], logs[-1], fits[-1], picture)
    if out:
        description.write(out, learned_rig(said, fits[-1]))
    if as_json:
        options.print_json(_as_data(run_ids, fits, moves))
        return
    _print(said, fits, moves)
    if out:
        click.echo(f"Written to {out}. Next: snapgloss forecast --rig {out}")


def _draw(run_id: int, log: "Log", fit: "Fit", path: Path) -> None:
    from snapgloss.report import planned
    from snapgloss.report.learned_picture import draw_learned

    planned.save(draw_learned(f"Batch {run_id}: the rig learned from it", log, fit), path)


def _print(said: "RigDescription", fits: "list[Fit]", moves: "list[Drift]") -> None:
    from snapgloss.runs.learning import FIGURE_WORDS

    fit = fits[-1]
    for name, (words, unit) in FIGURE_WORDS.items():
        value, sure = fit.figures[name], 100 * fit.log_sd(name)
        told = f"{value:.3g} {unit}"
        before = " ".join(f"{each.figures[name]:.3g}" for each in fits) if fits[1:] else ""
        line = f"{words:<32}{told:>12}  ± {sure:.0f} %   said {getattr(said, name):g}"
        click.echo(f"{line:<64}  batches: {before}" if before else line)
    click.echo(f"Readings about the fit: {fit.rms_c:.3f} °C rms, dead time {fit.dead_s} s.")
    for move in moves:
        if move.words:
            click.echo(f"{FIGURE_WORDS[move.name][0]}: {100 * move.change:+.0f} %: {move.words}.")


def _as_data(run_ids: tuple[int, ...], fits: "list[Fit]", moves: "list[Drift]") -> dict[str, Any]:
    runs = [
        {
            "run": run_id,
            "figures": {name: round(value, 3) for name, value in fit.figures.items()},
            "percent": {name: round(100 * fit.log_sd(name), 1) for name in fit.figures},
            "dead_s": fit.dead_s,
            "rms_c": round(fit.rms_c, 4),
        }
        for run_id, fit in zip(run_ids, fits, strict=True)
    ]
    drift = [
        {
            "name": move.name,
            "values": [round(value, 3) for value in move.values],
            "change": round(move.change, 3),
            "words": move.words,
        }
        for move in moves
    ]
    return {"runs": runs, "drift": drift}
