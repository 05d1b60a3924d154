"""Options that several commands share, and values with their unit."""

import json
import shlex
import textwrap
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from snapgloss.chocolate.description import ChocolateDescription
    from snapgloss.runs.known_rigs import KnownRig
    from snapgloss.store.store import Store

F = TypeVar("F", bound=Callable[..., Any])

as_json = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON value for programs."
)
fahrenheit = click.option("--fahrenheit", is_flag=True, help="Show temperatures in °F.")


class Quantity(click.ParamType[int]):
    """A value with its unit, such as `2 kg`; `parser` is one of snapgloss.base.MODULE."""

    def __init__(self, name: str, parser: str, module: str = "units") -> None:
        self.name, self._parser, self._module = name, parser, module

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ARG002
        """Return the whole number inside, or end with the parser's own sentence."""
        from importlib import import_module

        from snapgloss.base.errors import InputError

        if isinstance(value, int):
            return value
        try:
            module = import_module(f"snapgloss.base.{self._module}")
            found: int = getattr(module, self._parser)(value)
        except InputError as error:
            option = param.opts[0] if param else self.name
            raise InputError(f"{option}: {error.message}", error.remedy) from None
        return found


COLUMNS = 80


def wrapped(words: str, indent: int = 2) -> str:
    """A sentence in lines of the usual width, the later ones indented."""
    lines = textwrap.wrap(
        words, COLUMNS, subsequent_indent=" " * indent, break_on_hyphens=False
    )  # fmt: skip
    return "\n".join(lines)


RUN_ID = click.IntRange(min=1, max=2**31 - 1)  # what any database takes for a number
MASS = Quantity("MASS", "mass_g")
TEMPERATURE = Quantity("TEMPERATURE", "temperature_mc")
SPAN = Quantity("SPAN", "span_s")
SHARE = Quantity("SHARE", "share_permille")
LENGTH = Quantity("LENGTH", "length_um", "shop_units")
SPEED = Quantity("SPEED", "speed_mm_per_s", "shop_units")
POWER = Quantity("POWER", "power_w", "shop_units")
BAR = Quantity("MASS", "bar_mg", "shop_units")
WEIGHED = Quantity("MASS", "weighed_mg", "shop_units")
CLOCK = Quantity("TIME", "minute_of_day", "clock_times")

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
port = click.option(
    "--port", default="", metavar="PORT", help="Where the rig is; see `snapgloss ports`."
)
on = click.option(
    "--on",
    "rig_name",
    default="",
    metavar="NAME",
    help="The rig by its name; see `snapgloss rigs`.",
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


picture = click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.png",
    help="Draw it into this file, which must not be there yet.",
)
described = click.option(
    "--from",
    "described",
    type=click.Path(path_type=Path),
    metavar="CHOCOLATE.toml",
    help="Description of the chocolate.",
)
kind = click.option(
    "--type",
    "kind",
    type=click.Choice(["dark", "milk", "white"]),
    help="Its general type. Default: dark.",
)


def chocolate_of(described: Path | None, kind: str | None) -> "ChocolateDescription":
    """Return the chocolate that a call means: of a file, or the usual one of a type."""
    from snapgloss.base.errors import InputError
    from snapgloss.chocolate import description

    if described and kind:
        raise InputError("--from says the type already.", "Leave out --type.")
    if described:
        return description.read(described)
    name = f"{(kind or 'dark').capitalize()} chocolate"
    return description.ChocolateDescription.model_validate({"name": name, "type": kind or "dark"})


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


def meant_rig(ctx: click.Context, rig_name: str, port: str) -> "tuple[KnownRig | None, str]":
    """Return the rig that a call means, None where it only names a port, and its port."""
    from snapgloss.base.errors import InputError

    if bool(rig_name) == bool(port):
        raise InputError("Say which rig.", "Give --port, or --on with its name; one of them.")
    if port:
        return None, port
    from snapgloss.runs.known_rigs import rig_named
    from snapgloss.runs.rig_ports import port_of

    known = rig_named(data_folder(ctx), rig_name)
    return known, port_of(known)


def open_record(ctx: click.Context, to_read: bool = False) -> "Store":
    """Open the record of this call, in its data folder or where its record.url says; `to_read`:
    a read-only one will do."""
    from snapgloss.base.addresses import record_address
    from snapgloss.store import open_store

    store = open_store(record_address(data_folder(ctx)), to_read=to_read)
    for words in store.told:
        click.echo(hanging("", words), err=True)
    return store


def plain(value: Any) -> Any:
    """Return named tuples and dataclasses, however deep, as dictionaries for JSON."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: plain(part) for name, part in value._asdict().items()}
    if isinstance(value, dict):
        return {name: plain(part) for name, part in value.items()}
    return [plain(part) for part in value] if isinstance(value, list | tuple) else value


def hanging(begin: str, words: str) -> str:
    """Return `begin` and the words after it, in lines of 80 that stay right of `begin`."""
    import textwrap

    return textwrap.fill(
        words, COLUMNS, initial_indent=begin, subsequent_indent=" " * len(begin),
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def say(words: str) -> None:
    """Print a sentence in lines of 80."""
    click.echo(hanging("", words))


def say_beside(words: str) -> None:
    """Print a sentence beside the result, on stderr."""
    click.echo(hanging("", words), err=True)


def print_json(value: Any) -> None:
    """Print one JSON value on stdout."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def one_line(value: Any) -> str:
    """Return a JSON value as one line, for a program that reads line by line."""
    return json.dumps(value, ensure_ascii=False)
