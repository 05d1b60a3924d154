"""The command that serves the page."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.runs.known_rigs import KnownRig
    from snapgloss.web.serve import Served


@click.command()
@click.option(
    "--port",
    "rig_ports",
    multiple=True,
    metavar="PORT",
    help="Where the rig is; may be given again. Default: every rig known by name, else the only "
    "one that is plugged in.",
)
@click.option(
    "--on",
    "names",
    multiple=True,
    metavar="NAME",
    help="A rig by its name; may be given again. See `snapgloss rigs`.",
)
@click.option("--virtual", is_flag=True, help="Serve a simulated rig of its own.")
@click.option("--rigs", "virtual_rigs", type=click.IntRange(1, 40), default=1, show_default=True,
              help="How many simulated rigs.")  # fmt: skip
@click.option("--speed", metavar="FACTOR", help="Simulated seconds per second, or max; with "
              "--virtual. Default: 1.")  # fmt: skip
@options.mass
@options.rig_file
@options.room
@click.option(
    "--page-port",
    type=click.IntRange(0, 65535),
    default=8750,
    show_default=True,
    help="Port of the page on this computer.",
)
@click.option("--lan", is_flag=True, help="Let devices of the local network in, with a key.")
@click.option("--name", default="", metavar="NAME", help="One more name this computer has there.")
@click.option("--new-key", is_flag=True, help="Make a new key: who has the old one is shut out.")
@options.as_json
@click.pass_context
def serve(
    ctx: click.Context, rig_ports: tuple[str, ...], names: tuple[str, ...], virtual: bool,
    virtual_rigs: int, speed: str | None, mass_g: int,
    rig: Path | None, room_mc: int, page_port: int, lan: bool, name: str, new_key: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Serve the page: the temperature beside the bowl, on a tablet.

    For this computer alone, unless --lan is given. The page can turn the rig off and ask for a
    start; it can never start heat: a person presses at the rig.
    """
    from snapgloss.rigs import description
    from snapgloss.virtual.pacing import speed_factor

    _check(rig_ports or names, virtual, speed, lan, name, new_key)
    speed_factor(speed or "1")  # refuses nonsense before anything is opened
    there = description.read(rig) if rig else description.BENCH_RIG
    from snapgloss.web.serve import ServeOptions
    from snapgloss.web.serve import serve as run

    folder = options.data_folder(ctx)
    known = () if virtual or rig_ports else _known(folder, names, rig is not None)
    wanted = ServeOptions(
        folder, there, page_port, rig_ports, (speed or "1") if virtual else None,
        mass_g, room_mc / 1000, lan, new_key, name, virtual_rigs, known,
    )  # fmt: skip
    run(wanted, lambda found: _say(found, as_json))


def _known(folder: Path, names: tuple[str, ...], is_described: bool) -> "tuple[KnownRig, ...]":
    """The rigs of these names, or all that are known; none for a rig that a file describes."""
    from snapgloss.runs.known_rigs import known_rigs, rig_named

    if names:
        return tuple({name.casefold(): rig_named(folder, name) for name in names}.values())
    return () if is_described else tuple(known_rigs(folder))


def _check(
    there: tuple[str, ...], virtual: bool, speed: str | None, lan: bool, name: str, new_key: bool
) -> None:
    if there and virtual:
        raise InputError("--port and --on are not for simulated rigs.", "Give one of them.")
    if speed is not None and not virtual:
        raise InputError("--speed is for a simulated rig.", "Give --virtual with it.")
    if (name or new_key) and not lan:
        raise InputError("--name and --new-key go with --lan.", "Give --lan with them.")


def _say(found: "Served", as_json: bool) -> None:
    from snapgloss.web.words import SERVE

    if as_json:
        click.echo(options.one_line({"url": found.url, "link": found.link or None}))
        return
    click.echo(SERVE["here"].format(url=found.url))
    if found.link:
        import segno

        click.echo(SERVE["lan"])
        click.echo(found.link)
        segno.make(found.link).terminal(out=sys.stdout, compact=True)
        click.echo(SERVE["risk"], err=True)
    click.echo(SERVE["stop"], err=True)
