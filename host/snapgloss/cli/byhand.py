"""The command that coaches tempering by hand, the rig's probe as thermometer."""

import contextlib
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError, LinkError
from snapgloss.cli import options
from snapgloss.cli.keys import EnterKey

if TYPE_CHECKING:
    from snapgloss.runs.by_hand import HandPlan

DONE_HOW = (
    "Press Enter when you did what is asked, and at each mould you pour. Ctrl-C when the last one "
    "is poured."
)
VIRTUAL_SPEED = "20"  # the fastest at which a rig that is off keeps up


LIVE_COLUMNS = 32


class _Terminal:
    """Sentences as lines; the temperature in a line that is written over."""

    def __init__(self, fahrenheit: bool) -> None:
        self._fahrenheit = fahrenheit
        self._live = sys.stderr.isatty()
        self._key = EnterKey()

    def presses(self) -> int:
        """Presses of Enter."""
        return self._key.presses()

    def clear(self) -> None:
        """Take the line of the moment away, on a terminal."""
        if self._live:
            click.echo(f"\r{' ' * LIVE_COLUMNS}\r", nl=False, err=True)

    def say(self, at_s: int, words: str) -> None:
        """Print a sentence with the time."""
        from snapgloss.base.units import show_h_mm

        self.clear()
        click.echo(options.hanging(f"{show_h_mm(at_s):>5}  ", words), err=True)

    def show(self, at_s: int, state: str, product_mc: int | None) -> None:
        """Show the temperature now, on a terminal."""
        from snapgloss.base.units import show_h_mm, show_temperature
        from snapgloss.quality.event_words import STEP_WORDS

        if self._live:
            now = show_temperature(product_mc, self._fahrenheit)
            line = f"{show_h_mm(at_s):>5}  {now}  {STEP_WORDS.get(state, state)}"
            click.echo(f"\r{line:<{LIVE_COLUMNS}}", nl=False, err=True)


@click.command()
@click.option("--port", help="Where the rig is; see `snapgloss ports`.")
@click.option(
    "--virtual", "on_virtual", is_flag=True,
    help="See it on a simulated rig of its own; a simulated person tempers.",
)  # fmt: skip
@click.option("--chocolate", required=True, metavar="NAME", help="Your name for it.")
@options.kind
@click.option(
    "--method", type=click.Choice(["cooled", "seeded", "kept"]), default="cooled",
    show_default=True, help="cooled: on a stone or over cold water. kept: still in temper.",
)  # fmt: skip
@options.mass
@click.option("--liquid", is_flag=True, help="It is melted already.")
@click.option("--workshop", default="", metavar="NAME", help="Whose batch it is.")
@click.option(
    "--bag", "bags", multiple=True, metavar="LOT", help="A bag that is in it; may be given again."
)
@options.as_json
@options.fahrenheit
@click.pass_context
def byhand(
    ctx: click.Context, port: str | None, on_virtual: bool, chocolate: str, kind: str | None,
    method: str, mass_g: int, liquid: bool, workshop: str, bags: tuple[str, ...], as_json: bool,
    fahrenheit: bool,
) -> int:  # fmt: skip
    """Temper by hand, on a stone or over water, with the rig's probe as thermometer.

    The rig stays off: it heats nothing. You are told what to do, and the batch is recorded as any
    other. Ctrl-C ends it.
    """
    from snapgloss.base.names import check_name
    from snapgloss.runs.by_hand import HandPlan, temper_by_hand
    from snapgloss.runs.connect import connect
    from snapgloss.runs.lots import check_lot
    from snapgloss.schedules.maker import check_mass

    check_name(chocolate, "The chocolate's name")
    check_mass(mass_g)
    lots = tuple(check_lot(lot) for lot in bags)
    plan = HandPlan(
        chocolate, kind or "dark", method, mass_g, liquid, workshop, (), lots, on_virtual
    )
    with (
        _place(port, plan if on_virtual else None) as where,
        contextlib.closing(connect(where)) as link,
        options.open_record(ctx) as store,
    ):
        plan = plan.with_probes(options.data_folder(ctx), link.identity)
        for line in options.hanging("", DONE_HOW).splitlines():
            click.echo(line, err=True)
        terminal = _Terminal(fahrenheit)
        result = temper_by_hand(plan, link, store, terminal, fahrenheit)
        terminal.clear()
    if as_json:
        options.print_json({"run": result.run_id, "words": result.words})
    else:
        click.echo(
            result.words if result.run_id is None else f"Run {result.run_id}. {result.words}"
        )
    return LinkError.exit_code if result.run_id is None else 0


@contextlib.contextmanager
def _place(port: str | None, plan: "HandPlan | None") -> Iterator[str]:
    """Give the port of the rig; with a plan that of a simulated one, by whose bowl a person is."""
    if (port is None) == (plan is None):
        raise InputError("Which rig?", "Give either --port PORT or --virtual.")
    if plan is None:
        yield str(port)
        return
    from snapgloss.virtual.by_hand import setup_for
    from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

    click.echo("Starting the simulated rig ...", err=True)
    setup = setup_for(plan.method, float(plan.mass_g), plan.liquid)
    spawn = SpawnOptions(setup=setup, speed=VIRTUAL_SPEED, by_hand=f"{plan.type} {plan.method}")
    with VirtualRigProcess(spawn) as virtual:
        yield virtual.port
