"""The command that coaches tempering by hand, the rig's probe as thermometer."""

import contextlib
import sys

import click

from snapgloss.base.errors import LinkError
from snapgloss.cli import options

DONE_HOW = "Press Ctrl-C when the last tray is poured."


class _Terminal:
    """Sentences as lines; the temperature in a line that is written over."""

    def __init__(self, fahrenheit: bool) -> None:
        self._fahrenheit = fahrenheit
        self._live = sys.stderr.isatty()

    def say(self, at_s: int, words: str) -> None:
        """Print a sentence with the time."""
        from snapgloss.base.units import show_h_mm

        line = f"{show_h_mm(at_s):>5}  {words}"
        click.echo(f"\r{line:<48}" if self._live else line, err=True)

    def show(self, at_s: int, state: str, product_mc: int | None) -> None:
        """Show the temperature now, on a terminal."""
        from snapgloss.base.units import show_h_mm, show_temperature

        if self._live:
            now = show_temperature(product_mc, self._fahrenheit)
            click.echo(f"\r{show_h_mm(at_s):>5}  {now}  {state:<12}", nl=False, err=True)


@click.command()
@click.option("--port", required=True, help="Where the rig is; see `snapgloss ports`.")
@click.option("--chocolate", required=True, metavar="NAME", help="Your name for it.")
@options.kind
@click.option(
    "--method", type=click.Choice(["cooled", "seeded", "kept"]), default="cooled",
    show_default=True, help="cooled: on a stone or over cold water. kept: still in temper.",
)  # fmt: skip
@options.mass
@click.option("--liquid", is_flag=True, help="It is melted already.")
@click.option("--workshop", default="", metavar="NAME", help="Whose batch it is.")
@options.as_json
@options.fahrenheit
@click.pass_context
def byhand(
    ctx: click.Context, port: str, chocolate: str, kind: str | None, method: str, mass_g: int,
    liquid: bool, workshop: str, as_json: bool, fahrenheit: bool,
) -> int:  # fmt: skip
    """Temper by hand, on a stone or over water, with the rig's probe as thermometer.

    The rig stays off: it heats nothing. You are told what to do, and the batch is recorded as any
    other.
    """
    from snapgloss.base.names import check_name
    from snapgloss.runs.by_hand import HandPlan, temper_by_hand
    from snapgloss.runs.connect import connect

    check_name(chocolate, "The chocolate's name")
    plan = HandPlan(chocolate, kind or "dark", method, mass_g, liquid, workshop)
    with contextlib.closing(connect(port)) as link, options.open_record(ctx) as store:
        plan = plan.with_probes(options.data_folder(ctx), link.identity)
        click.echo(DONE_HOW, err=True)
        result = temper_by_hand(plan, link, store, _Terminal(fahrenheit), fahrenheit)
    if as_json:
        options.print_json({"run": result.run_id, "words": result.words})
    else:
        click.echo(
            result.words if result.run_id is None else f"Run {result.run_id}. {result.words}"
        )
    return LinkError.exit_code if result.run_id is None else 0
