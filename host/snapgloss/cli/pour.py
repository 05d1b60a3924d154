"""The pour clock."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import moulds as mould_options
from snapgloss.cli import options
from snapgloss.cli.setting import bar_options

if TYPE_CHECKING:
    from snapgloss.chocolate.moulds import MouldPlan
    from snapgloss.schedules.planning import Plan
    from snapgloss.schedules.pouring import PourClock, Progress

BAR = ("thickness_um", "mould_g", "wall_um", "air_mc", "speed_mm_per_s", "mould_mc")
MOULDS = ("bars", "cavities", "seconds_permille", "scraping_permille")


@click.command()
@mould_options.bars
@mould_options.each
@click.option(
    "--at",
    "pour_at_min",
    type=options.CLOCK,
    required=True,
    help="When to begin pouring, such as 10:00.",
)
@mould_options.cavities
@mould_options.seconds
@mould_options.scraping
@click.option(
    "--pace",
    "mould_s",
    type=options.SPAN,
    default="75 s",
    show_default=True,
    help="To fill, tap and scrape one mould.",
)
@options.described
@options.kind
@options.rig_file
@options.room
@bar_options
@click.option("--done", type=int, help="While pouring: moulds filled so far.")
@click.option("--for", "poured_s", type=options.SPAN, help="While pouring: since when.")
@options.picture
@options.as_json
@options.fahrenheit
def pour(
    pour_at_min: int, each_g: int, mould_s: int, described: Path | None, kind: str | None,
    rig: Path | None, room_mc: int, done: int | None, poured_s: int | None,
    picture: Path | None, as_json: bool, fahrenheit: bool, **wish: Any,
) -> None:  # fmt: skip
    """Count back from the pour to the plug.

    "48 bars of 60 g at 10:00" becomes the times of the day, the mass to load and the seed to
    weigh. With --done and --for it says, while you pour, whether the last mould comes in time.
    """
    from snapgloss.chocolate.setting import settle
    from snapgloss.runs.usual_bar import bar_and_cooling
    from snapgloss.schedules.pouring import good_minutes, pour_clock

    if (done is None) != (poured_s is None):
        raise InputError("--done and --for go together.", "Give both, or neither.")
    plan_moulds = mould_options.plan_of(each_g=each_g, **{name: wish[name] for name in MOULDS})
    chocolate = options.chocolate_of(described, kind)
    plan = _plan(chocolate, plan_moulds, rig, room_mc / 1000)
    if done is not None and poured_s is not None:
        seen = (done, poured_s / 60, good_minutes(plan), mould_s, fahrenheit)
        _while_pouring(plan_moulds, seen, as_json)
        return
    bar, cooling = bar_and_cooling(chocolate, each_g, **{name: wish[name] for name in BAR})
    clock = pour_clock(
        plan, plan_moulds, pour_at_min, settle(bar, cooling), mould_s, fahrenheit, wish["air_mc"]
    )
    if picture:
        _draw(clock, plan, plan_moulds, picture)
    if as_json:
        options.print_json(_as_data(clock, plan, plan_moulds))
        return
    _print(clock, picture)


def _plan(chocolate: Any, moulds: "MouldPlan", rig: Path | None, room_c: float) -> "Plan":
    from snapgloss.rigs import description
    from snapgloss.schedules.planning import plan, wish_of

    there = description.read(rig) if rig else description.BENCH_RIG
    return plan(wish_of(chocolate, moulds.batch_g), there, room_c)


def _while_pouring(
    moulds: "MouldPlan", seen: tuple[int, float, float, int, bool], as_json: bool
) -> None:
    from snapgloss.schedules.pouring import progress

    found: Progress = progress(moulds.moulds, *seen)
    if as_json:
        options.print_json({**found._asdict(), "in_time": found.in_time})
        return
    click.echo(options.hanging("", found.words))


def _draw(clock: "PourClock", plan: "Plan", moulds: "MouldPlan", path: Path) -> None:
    from snapgloss.base.clock_times import show_time
    from snapgloss.base.units import show_mass
    from snapgloss.report import planned
    from snapgloss.report.pour_picture import draw_pour

    at = show_time(clock.at("pour"))
    title = f"{moulds.pieces} bars of {show_mass(moulds.piece_g)} at {at}"
    planned.save(draw_pour(clock, plan, title), path)


def _print(clock: "PourClock", picture: Path | None) -> None:
    from snapgloss.schedules.pouring import told

    for line in told(clock):
        at, words = line.split("  ", 1)
        click.echo(options.hanging(f"{at}  ", words))
    for warning in clock.warnings:
        click.echo(options.hanging("Unusual: ", warning), err=True)
    if picture:
        click.echo(f"Drawn into {picture}.")


def _as_data(clock: "PourClock", plan: "Plan", moulds: "MouldPlan") -> dict[str, Any]:
    moments = [{**m._asdict(), "at_min": round(m.at_min, 1)} for m in clock.moments]
    return {
        "moments": moments,
        "pour_min": round(clock.pour_min, 1),
        "good_min": round(clock.good_min, 1),
        "moulds_in_time": clock.in_time,
        "batch_g": moulds.batch_g,
        "moulds": moulds.moulds,
        "seed_g": plan.seeding.seed_g if plan.seeding else 0,
        "warnings": clock.warnings,
    }
