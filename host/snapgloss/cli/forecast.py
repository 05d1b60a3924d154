"""The command that says how a batch will go, before any chocolate is in the bowl."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.chocolate.types import ChocolateType
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.model import ScheduleFile
    from snapgloss.schedules.outlook import Band, Outlook


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False, metavar="[FILE]")
@options.described
@options.kind
@click.option(
    "--method",
    type=click.Choice(["seeded", "cooled", "kept"]),
    help="Seeded, cooling alone, or kept (still in temper). Default: seeded.",
)
@click.option("--mass", "mass_g", type=options.MASS, help="How much. Default: 2 kg.")
@options.rig_file
@options.room
@click.option(
    "--begin",
    "begin_mc",
    type=options.TEMPERATURE,
    help="Temperature of the chocolate now. Default: that of the room, or as it starts.",
)
@options.as_json
@options.fahrenheit
def forecast(
    file: Path | None,
    rig: Path | None,
    room_mc: int,
    begin_mc: int | None,
    as_json: bool,
    fahrenheit: bool,
    **wishes: Any,
) -> None:
    """Say how long each step will take, from and to, and whether it can be done at all.

    For the schedule in FILE, or for a chocolate, a mass and a method. Nine batches in ten take
    what is between the two figures. A rig that was learned from its runs gets narrower ones.
    """
    from snapgloss.rigs import description
    from snapgloss.schedules import doubt
    from snapgloss.schedules.outlook import outlook

    rig_there = description.read(rig) if rig else description.BENCH_RIG
    schedule, kind = _schedule(file, rig_there, wishes)
    percent = {str(name): value for name, value in rig_there.known_percent.items()}
    found = outlook(
        schedule,
        rig_there,
        room_mc / 1000,
        kind=kind,
        doubt=doubt.known(percent) if percent else doubt.described(),
        begin_c=None if begin_mc is None else begin_mc / 1000,
    )
    if as_json:
        options.print_json(_as_data(found))
    else:
        _print(schedule, found, fahrenheit)


def _schedule(
    file: Path | None, rig: "RigDescription", wishes: dict[str, Any]
) -> "tuple[ScheduleFile, ChocolateType]":
    """The schedule, and the chocolate with its heats: as described, else as the file's type."""
    from snapgloss.schedules import files
    from snapgloss.schedules.maker import make

    if file:
        if any(value is not None for value in wishes.values()):
            raise InputError(
                "A FILE says chocolate, mass and method already.",
                "Leave out either FILE or those options.",
            )
        found = files.read(file)
        return found, found.chocolate_type
    described = options.chocolate_of(wishes["described"], wishes["kind"])
    kind = described.chocolate_type
    method: Any = wishes["method"] or "seeded"
    mass_g = 2000 if wishes["mass_g"] is None else wishes["mass_g"]
    start: Any = "in_temper" if method == "kept" else "solid"
    return make(kind, rig, mass_g, method, start, described.name), kind


def _print(schedule: "ScheduleFile", found: "Outlook", fahrenheit: bool) -> None:
    from snapgloss.base.fahrenheit import in_fahrenheit
    from snapgloss.base.units import show_mass, show_temperature
    from snapgloss.runs.preparing import from_to
    from snapgloss.runs.words import about, doing
    from snapgloss.schedules.wire import to_wire

    click.echo(f"{schedule.chocolate}, {show_mass(schedule.mass_g)}, {schedule.method}")
    rows = zip(to_wire(schedule).steps, found.steps, strict=True)
    for step_no, (step, row) in enumerate(rows, 1):
        spent = from_to(row)
        plate = show_temperature(round(1000 * row.plate_c.high), fahrenheit)
        click.echo(f"{step_no:>3}  {doing(step, fahrenheit):<24}{spent:>16}   plate up to {plate}")
    energy_wh = sum(row.energy_wh.middle for row in found.steps)
    whole = about(round(found.total_min * 60))
    click.echo(f"     {'In all':<24}{whole:>16}   {energy_wh:.0f} Wh of heat")
    for warning in found.warnings:
        said = in_fahrenheit(warning) if fahrenheit else warning
        click.echo(options.hanging("Not sure: ", said), err=True)


def _as_data(found: "Outlook") -> dict[str, Any]:
    def band(one: "Band") -> dict[str, float]:
        return {name: round(value, 2) for name, value in one._asdict().items()}

    steps = [
        {
            "kind": row.kind,
            "reach_min": band(row.reach_min),
            "hold_min": round(row.hold_min, 2),
            "energy_wh": band(row.energy_wh),
            "plate_c": band(row.plate_c),
            "chance": round(row.chance, 3),
        }
        for row in found.steps
    ]
    return {"steps": steps, "total_min": round(found.total_min, 2), "warnings": found.warnings}
