"""The command that calibrates a probe."""

import time
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.calibration import Point
    from snapgloss.runs.calibrations import Calibrated

ALTITUDE = options.Quantity("ALTITUDE", "altitude_m", "shop_units")


@click.command()
@click.option(
    "--probe", required=True, help="The probe, such as ds18b20,2801001a2b00005f; see deploy."
)
@click.option("--ice", "ice_mc", type=options.TEMPERATURE, help="What it reads in ice water.")
@click.option(
    "--bath",
    "baths_mc",
    type=(options.TEMPERATURE, options.TEMPERATURE),
    multiple=True,
    metavar="TRUE READING",
    help="Thermometer and probe in a stirred bath.",
)
@click.option(
    "--boiling", "boiling_mc", type=options.TEMPERATURE, help="What it reads at the boil."
)
@click.option(
    "--altitude",
    "altitude_m",
    type=ALTITUDE,
    default="0 m",
    show_default=True,
    help="Of your kitchen, for --boiling.",
)
@click.option(
    "--good-to",
    "good_to_mc",
    type=options.TEMPERATURE,
    default="0.1 C",
    show_default=True,
    help="What the bath's thermometer is good for.",
)
@click.option(
    "--as-shown", is_flag=True, help="The readings are what the rig shows with its calibration."
)
@click.option("--name", default="", help="Who did it.")
@click.option(
    "--window",
    "window_mc",
    type=(options.TEMPERATURE, options.TEMPERATURE),
    default=("31 C", "32 C"),
    metavar="LOW HIGH",
    help="Working window to hold the uncertainty against. Default 31 C to 32 C.",
)
@options.as_json
@click.pass_context
def calibrate(
    ctx: click.Context,
    probe: str,
    ice_mc: int | None,
    baths_mc: tuple[tuple[int, int], ...],
    boiling_mc: int | None,
    altitude_m: int,
    good_to_mc: int,
    as_shown: bool,
    name: str,
    window_mc: tuple[int, int],
    as_json: bool,
) -> None:
    """Calibrate a probe at one point or two, and say how well it knows the working temperature.

    Give what the probe reads without a calibration, or with --as-shown what the rig shows with
    the last one. `deploy --probe` then takes the new one along.
    """
    from snapgloss.rigs import calibration
    from snapgloss.runs.calibrations import Calibrations
    from snapgloss.runs.commissioning import signed

    record = Calibrations(options.data_folder(ctx), lambda: time.time_ns() // 1_000_000)
    read_c = record.reader(probe) if as_shown else lambda shown_c: shown_c
    points: list[Point] = []
    if ice_mc is not None:
        points.append(calibration.ice(read_c(ice_mc / 1000)))
    for bath_mc in _one_bath(baths_mc, good_to_mc):
        true_c, shown_c = (mc / 1000 for mc in bath_mc)
        points.append(calibration.bath(true_c, read_c(shown_c), good_to_mc / 1000))
    if boiling_mc is not None:
        points.append(calibration.boiling(read_c(boiling_mc / 1000), altitude_m))
    _tell(record.keep(probe, points, signed(name)), window_mc, as_json)


def _one_bath(
    baths_mc: tuple[tuple[int, int], ...], good_to_mc: int
) -> tuple[tuple[int, int], ...]:
    """A bath, or none. Raises InputError for more, which would be dropped unseen, and for a
    thermometer that is never wrong."""
    if len(baths_mc) > 1:
        raise InputError("--bath is given more than once.", "Give the one nearest the work.")
    if good_to_mc <= 0:
        raise InputError(
            "No thermometer is good to 0 degrees.", 'Write it like --good-to "0.1 C".'
        )
    return baths_mc


def _tell(done: "Calibrated", window_mc: tuple[int, int], as_json: bool) -> None:
    from snapgloss.rigs.calibration import against_window, uncertainty_c

    found = done.calibration
    low_c, high_c = (mc / 1000 for mc in window_mc)
    u_c = uncertainty_c(found, (low_c + high_c) / 2)
    if as_json:
        options.print_json(
            {
                "probe": done.kind,
                "offset_mk": found.offset_mk,
                "slope_e5": found.slope_e5,
                "uncertainty_c": round(u_c, 3),
                "points": [point._asdict() for point in found.points],
            }
        )
        return
    click.echo(
        f"Adds {found.offset_mk / 1000:+.3f} °C"
        + (f" and {found.slope_e5 / 1000:+.3f} % of the reading." if found.slope_e5 else ".")
    )
    click.echo(against_window(u_c, low_c, high_c))
