"""The command about schedule files."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.forecast import StepForecast
    from snapgloss.schedules.model import ScheduleFile

STARTS = {"solid": "solid", "liquid": "liquid", "in-temper": "in_temper", "hot": "hot"}


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False, metavar="[FILE]")
@click.option("--chocolate", metavar="NAME", help="Your own name for the chocolate.")
@click.option(
    "--type",
    "kind",
    type=click.Choice(["dark", "milk", "white"]),
    help="Its general type. Default: dark.",
)
@click.option(
    "--method",
    type=click.Choice(["seeded", "cooled", "kept"]),
    help="Seeded, cooling alone, or kept (still in temper). Default: seeded.",
)
@click.option(
    "--start",
    type=click.Choice(list(STARTS)),
    help="How the chocolate is at the start. Default: solid; in-temper for kept.",
)
@click.option(
    "--milk-fat",
    "milk_fat_permille",
    type=options.SHARE,
    help="Milk fat in its fat, if the label says it. Default: usual for the type.",
)
@click.option("--mass", "mass_g", type=options.MASS, help="How much. Default: 2 kg.")
@options.rig_file
@options.room
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the schedule to this file, which must not be there yet.",
)
@options.as_json
@options.fahrenheit
def schedule(
    file: Path | None,
    rig: Path | None,
    room_mc: int,
    out: Path | None,
    as_json: bool,
    fahrenheit: bool,
    **wishes: Any,
) -> None:
    """Make a schedule for a chocolate, or check one in a file.

    A new schedule is printed, or written with --out. Its forecast, the time each step will
    take on the rig in the room, goes to stderr. With FILE nothing is made: the schedule in it
    is checked and its forecast shown.
    """
    from snapgloss.rigs import description
    from snapgloss.schedules import files
    from snapgloss.schedules.forecast import forecast

    rig_there = description.read(rig) if rig else description.BENCH_RIG
    found = _checked(file, out, wishes) if file else _made(rig_there, wishes)
    steps = forecast(found, rig_there, room_mc / 1000)
    if out:
        files.write(out, found)
    if as_json:
        options.print_json(_as_data(found, steps))
        return
    if not file and not out:
        click.echo(files.to_text(found), nl=False)
    _print_forecast(found, steps, fahrenheit, to_stderr=not file)
    if out:
        click.echo(f"Written to {out}. Next: snapgloss run {out} --port PORT")


def _checked(file: Path, out: Path | None, wishes: dict[str, Any]) -> "ScheduleFile":
    from snapgloss.schedules import files

    if out or any(value is not None for value in wishes.values()):
        raise InputError(
            "A FILE is checked as it is; options that make a schedule do not go with it.",
            "Leave out either FILE or those options.",
        )
    return files.read(file)


def _made(rig: "RigDescription", wishes: dict[str, Any]) -> "ScheduleFile":
    from snapgloss.base.names import check_name
    from snapgloss.chocolate.types import type_of
    from snapgloss.schedules.maker import make

    if wishes["chocolate"] is not None:
        check_name(wishes["chocolate"], "The chocolate's name")
    method: Any = wishes["method"] or "seeded"
    start: Any = STARTS[wishes["start"] or ("in-temper" if method == "kept" else "solid")]
    mass_g = 2000 if wishes["mass_g"] is None else wishes["mass_g"]
    return make(
        type_of(wishes["kind"] or "dark"),
        rig,
        mass_g,
        method,
        start,
        wishes["chocolate"],
        wishes["milk_fat_permille"],
    )


def _print_forecast(
    found: "ScheduleFile", steps: "list[StepForecast]", fahrenheit: bool, to_stderr: bool
) -> None:
    from snapgloss.base.units import show_mass
    from snapgloss.runs.words import about, doing
    from snapgloss.schedules.forecast import total_minutes
    from snapgloss.schedules.unusual import warnings
    from snapgloss.schedules.wire import to_wire

    click.echo(f"{found.chocolate}, {show_mass(found.mass_g)}, {found.method}", err=to_stderr)
    for step_no, (step, row) in enumerate(zip(to_wire(found).steps, steps, strict=True), 1):
        spent = about(round(row.minutes * 60))
        click.echo(f"{step_no:>3}  {doing(step, fahrenheit):<24}{spent:>12}", err=to_stderr)
    whole = about(round(total_minutes(steps) * 60))
    click.echo(f"     {'Forecast, in all':<24}{whole:>12}", err=to_stderr)
    for warning in warnings(found):
        click.echo(f"Unusual: {warning}", err=True)


def _as_data(found: "ScheduleFile", steps: "list[StepForecast]") -> dict[str, Any]:
    from snapgloss.schedules.files import to_text
    from snapgloss.schedules.unusual import warnings

    rows = [
        {"kind": s.kind, "reach_min": round(s.reach_min, 2), "hold_min": round(s.hold_min, 2)}
        for s in steps
    ]
    return {
        "schedule": found.model_dump(mode="json"),
        "toml": to_text(found),
        "forecast": rows,
        "warnings": warnings(found),
    }
