"""The command that drives outputs of a rig for a step test."""

import contextlib
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.base.records import Reading
from snapgloss.base.units import show_temperature, write_share
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.runs.leases import StepResult

EXIT_CODES = {"done": 0, "early": 3, "stopped": 3, "not_started": 3, "left": 130}
VIRTUAL_SPEED = "20"  # a lease of 5 s of the rig is then a quarter of a second here


@click.command("test")
@click.option("--port", help="Where the rig is; see `snapgloss ports`.")
@click.option("--virtual", "on_virtual", is_flag=True, help="Test a simulated rig of its own.")
@click.option(
    "--heat",
    "heat_permille",
    type=options.SHARE,
    default="0%",
    show_default=True,
    help="Power of the heater.",
)
@click.option(
    "--fan",
    "fan_permille",
    type=options.SHARE,
    default="0%",
    show_default=True,
    help="Power of the fan.",
)
@click.option(
    "--stir",
    "stir_permille",
    type=options.SHARE,
    default="0%",
    show_default=True,
    help="Power of the stirrer.",
)
@click.option(
    "--for",
    "most_s",
    type=options.SPAN,
    default="2 min",
    show_default=True,
    help="How long, 1 h at most.",
)
@click.option(
    "--plate",
    "plate_mc",
    type=options.TEMPERATURE,
    default="60 C",
    show_default=True,
    help="Temperature of the plate above which heat is held back.",
)
@options.as_json
@options.fahrenheit
def test_(
    port: str | None,
    on_virtual: bool,
    heat_permille: int,
    fan_permille: int,
    stir_permille: int,
    most_s: int,
    plate_mc: int,
    as_json: bool,
    fahrenheit: bool,
) -> int:
    """Drive heater, fan and stirrer for a while and print what the probes say.

    You press start on the rig; that allows exactly these powers, for that time. All is off at
    its end, at Ctrl-C, and 5 s after this program ends in any other way.
    """
    from snapgloss.runs.connect import connect
    from snapgloss.runs.leases import StepPlan, run_step

    plan = StepPlan(heat_permille, fan_permille, stir_permille, plate_mc, most_s)
    with _place(port, on_virtual) as where, contextlib.closing(connect(where)) as link:
        simulated = link.identity is not None and link.identity.simulated
        result = run_step(plan, link, _Watch(as_json, fahrenheit))
    _tell(result, simulated, as_json)
    return EXIT_CODES[result.outcome]


@contextlib.contextmanager
def _place(port: str | None, on_virtual: bool) -> Iterator[str]:
    """Give the port to test at; of a simulated rig that lives as long, if that is asked for."""
    if on_virtual == (port is not None):
        raise InputError("Which rig?", "Give either --port PORT or --virtual.")
    if port is not None:
        yield port
        return
    from snapgloss.runs import demo
    from snapgloss.virtual.spawn import VirtualRigProcess

    click.echo("Starting the simulated rig ...", err=True)
    rig = demo.demo_rig(demo.MASS_G, demo.ROOM_MC / 1000, demo.SEED, VIRTUAL_SPEED)
    with VirtualRigProcess(rig) as virtual:
        yield virtual.port


class _Watch:
    """Sentences to stderr; readings to stdout, one a line, unless they come as JSON at the end."""

    def __init__(self, as_json: bool, fahrenheit: bool) -> None:
        self._as_json, self._fahrenheit = as_json, fahrenheit

    def say(self, words: str) -> None:
        """Print a sentence."""
        click.echo(words, err=True)

    def reading(self, at_s: int, reading: Reading) -> None:
        """Print a reading."""
        if self._as_json:
            return
        degrees = (
            ("chocolate", reading.product_mc),
            ("plate", reading.plate_mc),
            ("room", reading.room_mc),
        )
        powers = (
            ("heat", reading.heat_permille),
            ("fan", reading.fan_permille),
            ("stirrer", reading.stir_permille),
        )
        parts = [f"{name} {show_temperature(mc, self._fahrenheit):>8}" for name, mc in degrees]
        parts += [f"{name} {write_share(permille):>5}" for name, permille in powers]
        click.echo("  ".join([f"{at_s // 60:>4}:{at_s % 60:02d}", *parts]))


def _tell(result: "StepResult", simulated: bool, as_json: bool) -> None:
    if as_json:
        options.print_json(
            {
                "outcome": result.outcome,
                "words": result.words,
                "simulated": simulated,
                "readings": [reading._asdict() for reading in result.readings],
            }
        )
        return
    click.echo(f"{result.words}{' This test was simulated.' if simulated else ''}")
