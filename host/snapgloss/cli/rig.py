"""Commands about rigs and their ports."""

import contextlib
import signal
import sys
from typing import TYPE_CHECKING

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.virtual.rig import RigOptions


@click.command()
@options.as_json
def ports(as_json: bool) -> None:
    """List the USB serial ports of this computer."""
    from snapgloss.link.ports import list_ports

    found = list_ports()
    if as_json:
        options.print_json([row._asdict() for row in found])
    elif not found:
        click.echo("No USB serial port. Plug the rig in with a data cable, not a charging cable.")
    else:
        wide = max(len(row.port) for row in found)
        for row in found:
            click.echo(f"{row.port:<{wide}}  {row.usb_id}  {row.description}")


@click.command()
@options.port
@options.on
@options.as_json
@click.pass_context
def off(ctx: click.Context, port: str, rig_name: str, as_json: bool) -> None:
    """Turn heat, fan and stirrer of a rig off, at once.

    A batch under way is over then. The stop button at the rig does the same, without a computer.
    """
    from snapgloss.runs.connect import connect
    from snapgloss.runs.turn_off import turn_off

    _, port = options.meant_rig(ctx, rig_name, port)
    with contextlib.closing(connect(port)) as link:
        done = turn_off(link)
    if as_json:
        options.print_json(done._asdict())
    else:
        click.echo(done.words)


@click.command()
@options.mass
@click.option(
    "--seed",
    type=click.IntRange(0, 2**30 - 1),
    default=1,
    show_default=True,
    help="Seed of the simulated probes' noise.",
)
@click.option(
    "--speed",
    default="1",
    show_default=True,
    metavar="FACTOR",
    help="Simulated seconds per second in a batch, or max.",
)
@click.option(
    "--room",
    "room_mc",
    type=options.TEMPERATURE,
    default="21 C",
    show_default=True,
    help="Temperature of the simulated room.",
)
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar="NAME@SECOND",
    help="Inject a hazard, such as probe_out@3600; may be given again.",
)
@click.option(
    "--handling",
    default="",
    metavar="SCRIPT",
    help="Hands at the bowl, in seconds after start, such as 'lift@600-640; pedal@700'.",
)
@click.option("--display", is_flag=True, help="Show the rig's small display here.")
@options.as_json
def virtual(
    mass_g: int,
    seed: int,
    speed: str,
    room_mc: int,
    faults: tuple[str, ...],
    handling: str,
    display: bool,
    as_json: bool,
) -> None:
    """Run a virtual rig alone and print its port.

    It runs the same firmware as a board, with a simulated bowl, until Ctrl-C. Use it from a
    second terminal: `snapgloss run SCHEDULE.toml --port PORT`.
    """
    from snapgloss.rigs.description import BENCH_RIG
    from snapgloss.schedules.maker import check_mass
    from snapgloss.virtual.faults import parse_fault
    from snapgloss.virtual.handling import parse_handling
    from snapgloss.virtual.pacing import speed_factor
    from snapgloss.virtual.plant import PlantSetup
    from snapgloss.virtual.rig import RigOptions

    check_mass(mass_g, BENCH_RIG.largest_mass_g)
    setup = PlantSetup(mass_g=float(mass_g), room_c=room_mc / 1000, seed=seed)
    _serve(
        RigOptions(
            setup=setup,
            speed=speed_factor(speed),
            config_text=BENCH_RIG.to_config_text(),
            faults=tuple(parse_fault(text) for text in faults),
            handling=parse_handling(handling),
        ),
        as_json,
        display,
    )


def _serve(rig_options: "RigOptions", as_json: bool, display: bool) -> None:
    from snapgloss.virtual.rig import VirtualRig

    rig = VirtualRig(rig_options)
    signal.signal(signal.SIGTERM, lambda _number, _frame: rig.end())
    try:
        if as_json:
            click.echo(
                options.one_line({"port": rig.port, "interpreter": rig.words, "simulated": True})
            )
        else:
            click.echo(f"Simulated rig on {rig.port}")
            click.echo(f"Firmware runs on: {rig.words}. Ctrl-C ends it.", err=True)
        if display:
            rig.on_display = _Panel().show
        rig.run()
    finally:
        rig.stop()


class _Panel:
    """The display, drawn over itself on a terminal; line after line elsewhere."""

    def __init__(self) -> None:
        self._drawn = 0

    def show(self, picture: list[str]) -> None:
        up = f"\x1b[{self._drawn}A" if self._drawn and sys.stdout.isatty() else ""
        self._drawn = len(picture)
        click.echo(up + "\n".join(picture))
