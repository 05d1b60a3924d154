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
    from snapgloss.schedules.planning import Plan

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
@options.described
@click.option(
    "--seed-kind",
    type=click.Choice(["chopped", "crystals"]),
    help="Grated or chopped chocolate, or stable cocoa-butter crystals. Default: chopped.",
)
@click.option(
    "--seed-at",
    "seed_mc",
    type=options.TEMPERATURE,
    help="Temperature of the seed. Default: that of the room.",
)
@click.option("--old", is_flag=True, default=None, help="Old or bloomed blocks: rest longer.")
@options.rig_file
@options.room
@click.option("--why", is_flag=True, help="Say the reason for every step and limit.")
@options.picture
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
    why: bool,
    picture: Path | None,
    out: Path | None,
    as_json: bool,
    fahrenheit: bool,
    **wishes: Any,
) -> None:
    """Make a schedule for a chocolate, or check one in a file.

    A new schedule is printed, or written with --out; its forecast goes to stderr. What cannot
    work is refused, and what would work is named. With FILE nothing is made: it is checked and
    its forecast shown.
    """
    from snapgloss.rigs import description
    from snapgloss.schedules import files
    from snapgloss.schedules.forecast import forecast, room_doubt

    rig_there = description.read(rig) if rig else description.BENCH_RIG
    room_c = room_mc / 1000
    plan = None if file else _planned(rig_there, room_c, wishes)
    found = plan.schedule if plan else _checked(file, out, why, wishes)
    steps = plan.rows if plan else forecast(found, rig_there, room_c)
    doubt = room_doubt(found, rig_there, room_c)
    if picture:
        _draw(found, rig_there, room_c, plan, picture, fahrenheit)
    if out:
        files.write(out, found)
    if as_json:
        options.print_json(_as_data(found, steps, plan, doubt))
        return
    if not file and not out:
        click.echo(files.to_text(found), nl=False)
    _print_forecast(found, steps, fahrenheit, to_stderr=not file)
    _print_doubt(doubt, fahrenheit)
    _print_rest(plan if why else None, out, fahrenheit)


def _print_rest(plan: "Plan | None", out: Path | None, fahrenheit: bool) -> None:
    """The reasons, where a plan is given, and where it went."""
    if plan:
        _print_reasons(plan, fahrenheit)
    if out:
        click.echo(f"Written to {out}. Next: snapgloss run {out} --port PORT")


def _print_doubt(doubt: str, fahrenheit: bool) -> None:
    from snapgloss.base.fahrenheit import in_fahrenheit

    if doubt:
        told = in_fahrenheit(doubt) if fahrenheit else doubt
        click.echo(options.hanging("Not sure: ", told), err=True)


def _checked(
    file: Path | None, out: Path | None, why: bool, wishes: dict[str, Any]
) -> "ScheduleFile":
    from snapgloss.schedules import files

    if out or why or any(value is not None for value in wishes.values()):
        raise InputError(
            "A FILE is checked as it is; options that make a schedule do not go with it.",
            "Leave out either FILE or those options.",
        )
    assert file is not None  # else a plan is made
    return files.read(file)


def _planned(rig: "RigDescription", room_c: float, wishes: dict[str, Any]) -> "Plan":
    from snapgloss.base.names import check_name
    from snapgloss.chocolate.types import type_of
    from snapgloss.schedules.planning import Wish, plan, wish_of

    if wishes["chocolate"] is not None:
        check_name(wishes["chocolate"], "The chocolate's name")
    method: Any = wishes["method"]
    start = STARTS[wishes["start"] or ("in-temper" if method == "kept" else "solid")]
    mass_g = 2000 if wishes["mass_g"] is None else wishes["mass_g"]
    more: dict[str, Any] = {
        "method": method,
        "start": start,
        "seed_kind": wishes["seed_kind"] or "chopped",
        "seed_c": None if wishes["seed_mc"] is None else wishes["seed_mc"] / 1000,
        "old": bool(wishes["old"]),
    }
    if wishes["described"]:
        if wishes["kind"] or wishes["chocolate"] or wishes["milk_fat_permille"] is not None:
            raise InputError(
                "--from says chocolate, type and milk fat already.",
                "Leave out --chocolate, --type and --milk-fat.",
            )
        described = options.chocolate_of(wishes["described"], None)
        return plan(wish_of(described, mass_g, **more), rig, room_c)
    kind, milk_fat = type_of(wishes["kind"] or "dark"), wishes["milk_fat_permille"]
    if milk_fat is not None:
        kind = kind.with_milk_fat(milk_fat / 1000)
    wish = Wish(kind, mass_g, name=wishes["chocolate"], milk_fat_permille=milk_fat, **more)
    return plan(wish, rig, room_c)


def _draw(
    found: "ScheduleFile",
    rig: "RigDescription",
    room_c: float,
    plan: "Plan | None",
    path: Path,
    fahrenheit: bool,
) -> None:
    from snapgloss.report import planned
    from snapgloss.report.schedule_picture import draw_schedule

    kind = plan.wish.chocolate if plan else None
    planned.save(draw_schedule(found, rig, room_c, kind, fahrenheit), path)


def _print_reasons(plan: "Plan", fahrenheit: bool) -> None:
    from snapgloss.base.units import show_h_mm
    from snapgloss.schedules.reasons import aside, limits, reasons

    method, *steps = reasons(plan, fahrenheit)
    click.echo(options.hanging("", method), err=True)
    for number, words in enumerate(steps, 1):
        click.echo(options.hanging(f"{number:>3}  ", words), err=True)
    for words in limits(plan, fahrenheit):
        click.echo(options.hanging("  -  ", words), err=True)
    for minute, words in aside(plan, fahrenheit):
        click.echo(options.hanging(f"{show_h_mm(minute * 60):>5}  ", words), err=True)


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
    for warning in warnings(found, fahrenheit):
        click.echo(options.hanging("Unusual: ", warning), err=True)


def _as_data(
    found: "ScheduleFile", steps: "list[StepForecast]", plan: "Plan | None", doubt: str
) -> dict[str, Any]:
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
        "warnings": [*warnings(found), *([doubt] if doubt else [])],
        "plan": _plan_data(plan) if plan else None,
    }


def _plan_data(plan: "Plan") -> dict[str, Any]:
    from snapgloss.schedules.reasons import aside, limits, reasons

    seed_at, seeding = plan.seed_at_min, plan.seeding
    return {
        "reasons": reasons(plan),
        "limits": limits(plan),
        "aside": [{"at_min": round(minute, 1), "words": words} for minute, words in aside(plan)],
        "seed_g": seeding.seed_g if seeding else 0,
        "seed_at_min": None if seed_at is None else round(seed_at, 1),
        "seed_landing_c": round(seeding.landing_c, 2) if seeding else None,
        "pour_at_min": round(plan.pour_at_min, 1),
    }
