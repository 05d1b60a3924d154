"""The command that knows the rigs of a workshop by name."""

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.runs.known_rigs import KnownRig


@click.command()
@click.option(
    "--add",
    type=click.Path(path_type=Path),
    metavar="RIG.toml",
    help="Know the rig at --port by the name in this description.",
)
@click.option("--drop", default="", metavar="NAME", help="Forget a rig; its batches stay.")
@click.option("--port", default="", metavar="PORT", help="Where the rig is that is added.")
@options.as_json
@click.pass_context
def rigs(ctx: click.Context, add: Path | None, drop: str, port: str, as_json: bool) -> None:
    """List the rigs of the workshop, add one, or forget one.

    A rig is known by its board, whatever port it is on: `snapgloss run SCHEDULE.toml --on NAME`,
    and `snapgloss serve` shows all of them on one page.
    """
    from snapgloss.runs.known_rigs import drop_rig, known_rigs

    if bool(add) and bool(drop):
        raise InputError("--add and --drop are two things.", "Give one of them.")
    if bool(add) != bool(port):
        raise InputError("--add and --port go together.", "Say where the rig is that is added.")
    folder = options.data_folder(ctx)
    said = _add(folder, add, port) if add else drop_rig(folder, drop) if drop else ""
    _show(known_rigs(folder), said, as_json)


def _add(folder: Path, file: Path, port: str) -> str:
    from snapgloss.link.ports import list_ports
    from snapgloss.rigs import description
    from snapgloss.runs.connect import connect
    from snapgloss.runs.known_rigs import add_rig

    rig = description.read(file)
    with contextlib.closing(connect(port)) as link:
        assert link.identity is not None
        board = link.identity.board
    usb_id = next((row.usb_id for row in list_ports() if row.port == port), "")
    return add_rig(folder, rig, board, port, usb_id)


def _show(known: "list[KnownRig]", said: str, as_json: bool) -> None:
    if as_json:
        rows = [{"name": one.name, "board": one.board} for one in known]
        options.print_json({"words": said, "rigs": rows})
        return
    if said:
        options.say(said)
    if not known and not said:
        options.say(
            "No rig is known by name yet. Add one: snapgloss rigs --add RIG.toml --port PORT"
        )
    wide = max((len(one.name) for one in known), default=0)
    for one in known:
        click.echo(f"{one.name:<{wide}}  {one.board}")
