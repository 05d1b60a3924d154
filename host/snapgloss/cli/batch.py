"""The commands that temper: `try` and `run` are one code path, whatever rig is at the port."""

import contextlib
import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.base.records import Identity
    from snapgloss.link.client import RigLink
    from snapgloss.report import ReportPaths
    from snapgloss.rigs.description import RigDescription
    from snapgloss.runs.ending import RunResult
    from snapgloss.runs.plan import BatchPlan
    from snapgloss.store.store import Store

NO_SEEK_S = 0
EXIT_CODES = {
    "finished": 0,
    "off": 0,
    "stopped": 3,
    "not_started": 3,
    "link_lost": 4,
    "left": 130,
}
CUT_SHORT = 3  # the rig lost its power, and nobody carried on
REPORTED = ("finished", "off", "stopped")
TEACHING = ("finished", "off")
SIMULATION_LEFT = "You left; the simulated rig ended with this program."


@click.command("try")
@options.mass
@click.option(
    "--seed",
    type=click.IntRange(0, 2**30 - 1),
    help="Seed of the simulated probes' noise. Default: 1.",
)
@click.option(
    "--speed", metavar="FACTOR", help="Simulated seconds per second, or max. Default: max."
)
@click.option("--port", help="Temper on the rig at this port instead of the virtual one.")
@options.seek
@options.room
@options.as_json
@options.fahrenheit
@click.pass_context
def try_(
    ctx: click.Context,
    mass_g: int,
    seed: int | None,
    speed: str | None,
    port: str | None,
    seek_s: int,
    room_mc: int,
    as_json: bool,
    fahrenheit: bool,
) -> int:
    """See a whole batch tempered, simulated, in seconds.

    The workshop Quillby & Maar tempers 2 kg of Lantern 72, a dark chocolate, seeded. A
    simulated person presses start, adds the seed and pours. With --port the same batch runs on
    a real rig, and all of that is yours.
    """
    from snapgloss.runs import demo

    if port is not None:
        if seed is not None or speed is not None:
            raise InputError(
                "--seed and --speed are for the virtual rig.", "Leave them out with --port."
            )
        plan = demo.demo_plan(mass_g, room_mc / 1000, None)
        return _temper(ctx, plan, port, seek_s, as_json, fahrenheit)
    from snapgloss.virtual.pacing import speed_factor

    speed_factor(speed or "max")  # refuses nonsense before a process is started
    click.echo("Starting the simulated rig ...", err=True)
    _load_ahead()
    seed = demo.SEED if seed is None else seed
    plan = demo.demo_plan(mass_g, room_mc / 1000, seed)
    rig = demo.demo_rig(mass_g, room_mc / 1000, seed, speed or "max")
    from snapgloss.virtual.spawn import VirtualRigProcess

    with VirtualRigProcess(rig) as virtual:
        return _temper(ctx, plan, virtual.port, NO_SEEK_S, as_json, fahrenheit, SIMULATION_LEFT)


@click.command()
@click.argument("schedule", type=click.Path(path_type=Path), metavar="SCHEDULE.toml")
@options.port
@options.on
@options.rig_file
@click.option("--workshop", default="", metavar="NAME", help="Whose batch it is.")
@click.option(
    "--bag", "bags", multiple=True, metavar="LOT", help="A bag that is in it; may be given again."
)
@options.seek
@options.room
@options.as_json
@options.fahrenheit
@click.pass_context
def run(
    ctx: click.Context,
    schedule: Path,
    port: str,
    rig_name: str,
    rig: Path | None,
    workshop: str,
    bags: tuple[str, ...],
    seek_s: int,
    room_mc: int,
    as_json: bool,
    fahrenheit: bool,
) -> int:
    """Temper a batch with a schedule file on the rig at a port.

    You press start on the rig. The rig runs the schedule alone: when this program ends, it
    carries on, and the same command joins it again.
    """
    from snapgloss.rigs import description
    from snapgloss.runs.plan import plan_of
    from snapgloss.schedules import files

    wanted = files.read(schedule)
    known, port = options.meant_rig(ctx, rig_name, port)
    said = description.read(rig) if rig else known.rig if known else None
    rig_there = said or description.BENCH_RIG
    plan = plan_of(wanted, rig_there, room_mc / 1000, workshop)
    _load_ahead()
    due_of = said  # else nobody said whose record it is
    return _temper(
        ctx, plan, port, seek_s, as_json, fahrenheit, bags=bags, due_of=due_of, taught=rig_there
    )


def _temper(
    ctx: click.Context,
    plan: "BatchPlan",
    port: str,
    seek_s: int,
    as_json: bool,
    fahrenheit: bool,
    left_words: str = "",
    bags: tuple[str, ...] = (),
    due_of: "RigDescription | None" = None,
    taught: "RigDescription | None" = None,
) -> int:
    """Connect, run, report, say how it ended, teach the rig `taught`; return the exit code."""
    from snapgloss.cli.watch import watching
    from snapgloss.runs.batch import run_batch
    from snapgloss.runs.connect import connect
    from snapgloss.runs.fitted import probes_at
    from snapgloss.runs.lots import check_lot
    from snapgloss.runs.sample_words import SampleWords, about_of
    from snapgloss.runs.seek import Seeker
    from snapgloss.runs.telling import telling_broker

    plan = replace(plan, lots=tuple(check_lot(lot) for lot in bags))
    with (
        telling_broker(folder := options.data_folder(ctx), options.say_beside),
        contextlib.closing(connect(port)) as link,
        options.open_record(ctx) as store,
    ):
        simulated = link.identity is not None and link.identity.simulated
        plan = replace(plan, probes=probes_at(folder, link.identity, plan.work_mc))
        _say_due(folder, due_of, link.identity)
        with watching(plan.title, simulated, fahrenheit) as watch:
            samples = SampleWords(folder, about_of(plan, simulated), store)
            seek = Seeker(port, seek_s) if seek_s else None
            result = run_batch(plan, link, store, watch, fahrenheit, seek, samples)
        words = _last_words(store, result, left_words)
        paths = _reported(ctx, store, result, fahrenheit)
        learned = _teach(link, store, result, taught)
    _tell(ctx, result, words, simulated, paths, learned, as_json)
    return CUT_SHORT if result.cut_short else EXIT_CODES[result.outcome]


def _last_words(store: "Store", result: "RunResult", left_words: str) -> str:
    """How it ended; a batch that was left and that nothing can go on with ends in the record."""
    from snapgloss.runs.outcome import end_unfinished

    words = left_words if result.outcome == "left" and left_words else result.words
    if result.run_id is not None and words != result.words:
        end_unfinished(store, result.run_id, words)
    return words


def _say_due(data: Path, rig: "RigDescription | None", there: "Identity | None") -> None:
    """What is due at this rig, before anybody presses; the batch goes on all the same."""
    if rig is None or there is None:
        return
    from snapgloss.runs.rig_state import due_before_a_batch

    for words in due_before_a_batch(data, rig, there, time.time_ns() // 1_000_000):
        click.echo(f"Due: {words}", err=True)


def _reported(
    ctx: click.Context, store: "Store", result: "RunResult", fahrenheit: bool
) -> "ReportPaths | None":
    """Write the report of a batch that is over."""
    from snapgloss.report import write_report

    if result.run_id is None or result.outcome not in REPORTED:
        return None
    folder = options.data_folder(ctx) / "reports"
    return write_report(store, result.run_id, folder, fahrenheit)


def _teach(
    link: "RigLink", store: "Store", result: "RunResult", rig: "RigDescription | None"
) -> str | None:
    """Give the rig what its batch taught; what came of it, None where nothing was tried."""
    from snapgloss.runs import teaching

    if rig is None or result.run_id is None or result.outcome not in TEACHING:
        return None
    click.echo("Working out what the batch taught ...", err=True)
    try:
        return teaching.teach(link, store, result.run_id, rig).words
    except SnapglossError as fault:  # the batch is made, and the rig goes on as before
        return f"The rig keeps what it learned by itself: {fault.message}"


def _tell(
    ctx: click.Context,
    result: "RunResult",
    words: str,
    simulated: bool,
    paths: "ReportPaths | None",
    learned: str | None,
    as_json: bool,
) -> None:
    after = options.again(ctx, f"show {result.run_id}") if paths else None
    if as_json:
        options.print_json(
            {
                "run": result.run_id,
                "outcome": result.outcome,
                "words": words,
                "simulated": simulated,
                "figures": result.figures,
                "html": str(paths.html) if paths else None,
                "png": str(paths.png) if paths else None,
                "pdf": str(paths.pdf) if paths else None,
                "next": after,
                "taught": learned,
            }
        )
        return
    click.echo(f"{words}{' This batch was simulated.' if simulated else ''}")
    if learned:
        click.echo(learned)
    if paths is not None:
        click.echo(f"Report: {paths.html}")
        click.echo(f"Next:   {after}")


def _load_ahead() -> None:
    """Import what the end of a batch needs while its beginning runs."""

    def load() -> None:
        import snapgloss.quality.figures
        import snapgloss.report.write
        import snapgloss.store.store  # noqa: F401

    threading.Thread(target=load, name="load ahead", daemon=True).start()
