"""The command that sizes a rig."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.sizing import Sizing
    from snapgloss.rigs.sizing_cutout import CutOut
    from snapgloss.rigs.sizing_wanted import Wanted

NO_RUN = "The cut-out needs a whole run."
RUN_REMEDY = "Give --hottest, --run, and either --levels or --plate three times."


@click.command()
@click.option(
    "--build",
    type=click.Choice(["bench", "large", "pump"]),
    default="bench",
    show_default=True,
    help="One of the guide's rigs to begin with; the other options change it.",
)
@click.option("--mass", "mass_g", type=options.MASS, help="Chocolate in a full bowl.")
@click.option("--least", "least_g", type=options.MASS, help="Smallest batch you will make.")
@click.option("--room", "room_mc", type=options.TEMPERATURE, help="Temperature of the room.")
@click.option("--melt", "melt_s", type=options.SPAN, help="Time to melt solid chocolate.")
@click.option("--cool", "cool_s", type=options.SPAN, help="Time to cool from 48 to 28 °C.")
@click.option("--coolant", "coolant_mc", type=options.TEMPERATURE, help="Water in place of a fan.")
@click.option("--heater", "heater_w", type=options.POWER, help="Heater you have, at 24 V.")
@click.option("--no-sense", is_flag=True, help="The heater's node is not sensed.")
@click.option(
    "--hottest",
    "hottest_mc",
    type=options.TEMPERATURE,
    help="Hottest plate of a usual batch, to choose the cut-out.",
)
@click.option("--run", "run_w", type=options.POWER, help="Power of the stuck-on run.")
@click.option(
    "--plate",
    "plate_mc",
    type=options.TEMPERATURE,
    multiple=True,
    help="Plate in that run: give it three times, at equal intervals.",
)
@click.option(
    "--levels",
    "levels_mc",
    type=options.TEMPERATURE,
    help="Where the plate levelled out in that run, as the record says; instead of --plate.",
)
@click.option(
    "--describe",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="RIG.toml",
    help="Write the sized rig as a description, into a file that is not there yet.",
)
@click.option("--why", is_flag=True, help="Say formula and source of every figure.")
@options.as_json
def size(
    build: str,
    hottest_mc: int | None,
    run_w: int | None,
    plate_mc: tuple[int, ...],
    levels_mc: int | None,
    describe: Path | None,
    why: bool,
    as_json: bool,
    **changes: Any,
) -> None:
    """Size a low-voltage rig: heater, fan, fuse, wire, switch, stirrer, time to react.

    Refuses what would be unsafe, and says what would do. Calculated, not measured: the rig's own
    heat-balance run is the judge.
    """
    from snapgloss.rigs.sizing import size as sized

    wanted = _wanted(build, changes)
    found = sized(wanted)
    cut = _cut_out(wanted, hottest_mc, run_w, _level_c(levels_mc, plate_mc))
    if describe is not None:
        _describe(build, wanted, found, describe)
    if as_json:
        options.print_json(_as_data(build, found, cut))
    else:
        _tell(found, cut, why)


def _wanted(build: str, changes: dict[str, Any]) -> "Wanted":
    """The rig of the guide with what was given in its place, in SI."""
    from snapgloss.rigs.sized import BUILDS

    given: dict[str, Any] = {}
    for option, field, per in (
        ("mass_g", "mass_kg", 1000),
        ("least_g", "least_kg", 1000),
        ("room_mc", "room_c", 1000),
        ("coolant_mc", "coolant_c", 1000),
        ("melt_s", "melt_s", 1),
        ("cool_s", "cool_s", 1),
    ):
        if changes[option] is not None:
            given[field] = changes[option] / per
    if "mass_kg" in given and "least_kg" not in given:
        given["least_kg"] = None
    if changes["heater_w"] is not None:
        given["heater_w"] = changes["heater_w"]
    return replace(BUILDS[build], has_sense=not changes["no_sense"], **given)


def _level_c(levels_mc: int | None, plate_mc: tuple[int, ...]) -> float | None:
    """Where the plate levels out: as given, or from three readings; None without either."""
    from snapgloss.rigs.sizing_cutout import levels_at_c

    if levels_mc is not None and not plate_mc:
        return levels_mc / 1000
    if levels_mc is None and len(plate_mc) == 3:
        return levels_at_c([mc / 1000 for mc in plate_mc])
    if levels_mc is None and not plate_mc:
        return None
    raise InputError(NO_RUN, RUN_REMEDY)


def _cut_out(
    wanted: "Wanted", hottest_mc: int | None, run_w: int | None, level_c: float | None
) -> "CutOut | None":
    if hottest_mc is None and run_w is None and level_c is None:
        return None
    if hottest_mc is None or run_w is None or level_c is None:
        raise InputError(NO_RUN, RUN_REMEDY)
    from snapgloss.rigs.sizing import cut_out

    return cut_out(wanted, hottest_mc / 1000, run_w, level_c)


def _describe(build: str, wanted: "Wanted", found: "Sizing", file: Path) -> None:
    from snapgloss.rigs import description
    from snapgloss.rigs.sized import described

    description.write(file, described(f"{build} rig, {found.heater_w} W", wanted, found))
    click.echo(f"The rig is described in {file}; give it your name for it.", err=True)


def _as_data(build: str, found: "Sizing", cut: "CutOut | None") -> dict[str, Any]:
    return {
        "build": build,
        "heater_w": found.heater_w,
        "figures": [figure._asdict() for figure in found.figures],
        "races": [race._asdict() for race in found.races],
        "cautions": found.cautions,
        "cut_out": None if cut is None else cut._asdict(),
    }


def _tell(found: "Sizing", cut: "CutOut | None", why: bool) -> None:
    wide = max(len(figure.words) for figure in found.figures)
    for figure in found.figures:
        click.echo(f"{figure.words:<{wide}}  {_shown(figure.value):>9} {figure.unit}")
        if why:
            click.echo(options.wrapped(f"    {figure.formula}  [{figure.source}]", 4))
    for race in found.races:
        click.echo(options.wrapped(race.sentence()))
    for caution in found.cautions:
        click.echo(options.wrapped(f"Caution: {caution}"))
    if cut is not None:
        click.echo(options.wrapped(cut.sentence()))


def _shown(value: float) -> str:
    """Three figures, and no more zeros than they need."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"
