"""Options that several commands share, and values with their unit."""

import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from snapgloss.store.store import Store

F = TypeVar("F", bound=Callable[..., Any])

as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON value for programs."
)
fahrenheit = click.option("--fahrenheit", is_flag=True, help="Show temperatures in °F.")


class Quantity(click.ParamType[int]):
    """A value with its unit, such as `2 kg`; `parser` is one of snapgloss.base.units."""

    def __init__(self, name: str, parser: str) -> None:
        self.name, self._parser = name, parser

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ARG002
        """Return the whole number inside, or end with the parser's own sentence."""
        from snapgloss.base import units
        from snapgloss.base.errors import InputError

        if isinstance(value, int):
            return value
        try:
            found: int = getattr(units, self._parser)(value)
        except InputError as error:
            option = param.opts[0] if param else self.name
            raise InputError(f"{option}: {error.message}", error.remedy) from None
        return found


RUN_ID = click.IntRange(min=1, max=2**31 - 1)  # what any database takes for a number
MASS = Quantity("MASS", "mass_g")
TEMPERATURE = Quantity("TEMPERATURE", "temperature_mc")
SPAN = Quantity("SPAN", "span_s")
SHARE = Quantity("SHARE", "share_permille")

mass = click.option(
    "--mass",
    "mass_g",
    type=MASS,
    default="2 kg",
    show_default=True,
    help="Chocolate in the bowl.",
)
rig_file = click.option(
    "--rig",
    type=click.Path(path_type=Path),
    metavar="RIG.toml",
    help="Description of the rig. Default: the bench rig.",
)
seek = click.option(
    "--seek",
    "seek_s",
    type=SPAN,
    default="10 min",
    show_default=True,
    help="How long to look for the rig when its cable comes out; 0 s = not at all.",
)
room = click.option(
    "--room",
    "room_mc",
    type=TEMPERATURE,
    default="21 C",
    show_default=True,
    help="Temperature of the room, for the forecast.",
)


def data_folder(ctx: click.Context) -> Path:
    """Return the data folder of this call."""
    from snapgloss.base.settings import data_dir

    return data_dir(ctx.find_root().obj)


def again(ctx: click.Context, command: str) -> str:
    """Return a command to type next, with the data folder of this call."""
    data = ctx.find_root().obj
    return (
        f"snapgloss --data {shlex.quote(str(data))} {command}" if data else f"snapgloss {command}"
    )


def open_record(ctx: click.Context, to_read: bool = False) -> "Store":
    """Open the record in the data folder of this call; `to_read`: a read-only one will do."""
    from snapgloss.store import open_store

    return open_store(data_folder(ctx), to_read=to_read)


def print_json(value: Any) -> None:
    """Print one JSON value on stdout."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def one_line(value: Any) -> str:
    """Return a JSON value as one line, for a program that reads line by line."""
    return json.dumps(value, ensure_ascii=False)
