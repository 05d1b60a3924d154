"""The commands about finished bars: may they be turned out, and how they keep."""

import math
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options
from snapgloss.cli.moulds import each

if TYPE_CHECKING:
    from snapgloss.chocolate.moist_air import TurnOut

room = click.option(
    "--room", "room_mc", type=options.TEMPERATURE, required=True, help="Temperature of the room."
)
humidity = click.option(
    "--humidity",
    "humidity_permille",
    type=options.SHARE,
    required=True,
    help="Relative humidity of the room.",
)


@click.command()
@click.option(
    "--bar",
    "bar_mc",
    type=options.TEMPERATURE,
    required=True,
    help="Temperature of the bars now, such as that of the refrigerator.",
)
@room
@humidity
@each
@options.described
@options.kind
@options.as_json
@options.fahrenheit
def turnout(
    bar_mc: int, room_mc: int, humidity_permille: int, each_g: int, described: Path | None,
    kind: str | None, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Say whether cold bars may be turned out now.

    Water settles on what is colder than the room's dew point, and dries to sugar bloom. A bar 2
    degC over it stays dry. A bar above 24 degC (less with milk fat) has not set. Exit code 0
    either way.
    """
    from snapgloss.chocolate.moist_air import turn_out
    from snapgloss.chocolate.setting import bar_of
    from snapgloss.chocolate.thaw import warm_minutes

    depression_k = options.chocolate_of(described, kind).chocolate_type.depression_k
    found = turn_out(bar_mc / 1000, room_mc / 1000, humidity_permille / 10, depression_k)
    bar = bar_of(each_g, 7e-3, 2 * each_g)
    wait_min = None
    if found.answer == "wait":
        wait_min = warm_minutes(bar, bar_mc / 1000, found.safe_c, room_mc / 1000)
    if as_json:
        shown = {name: v if isinstance(v, str) else round(v, 2)
                 for name, v in found._asdict().items()}  # fmt: skip
        options.print_json({**shown, "wait_min": None if wait_min is None else round(wait_min, 1)})
        return
    for line in _words(found, wait_min, fahrenheit).splitlines():
        click.echo(options.hanging("", line))


def _words(found: "TurnOut", wait_min: float | None, fahrenheit: bool) -> str:
    from snapgloss.base.units import show_temperature

    dew = show_temperature(round(found.dew_c * 1000), fahrenheit)
    safe = show_temperature(round(found.safe_c * 1000), fahrenheit)
    if found.answer == "not set":
        return "Not set: back into the cold. So warm a bar does not come out of its mould."
    if found.answer == "now":
        return f"Turn out now: the dew point is {dew}."
    if wait_min is None:
        return (
            f"Do not turn out: the dew point is {dew}.\n"
            f"A bar stays dry from {safe} on. Dry or cool the room."
        )
    return (
        f"Wait about {math.ceil(wait_min)} min, the room is damp: the dew point is {dew}.\n"
        f"Turn out when the bars are at {safe}."
    )


@click.command()
@click.option("--at", "at_mc", type=options.TEMPERATURE, help="Steady temperature of the store.")
@click.option("--coolest", "coolest_mc", type=options.TEMPERATURE, help="Coolest of a day.")
@click.option("--warmest", "warmest_mc", type=options.TEMPERATURE, help="Warmest of a day.")
@click.option("--humidity", "humidity_permille", type=options.SHARE, help="Relative humidity.")
@click.option("--odours", is_flag=True, help="Something there smells.")
@click.option("--wrapped", is_flag=True, help="The bars are wrapped airtight.")
@options.as_json
@options.fahrenheit
def storage(
    at_mc: int | None, coolest_mc: int | None, warmest_mc: int | None,
    humidity_permille: int | None, odours: bool, wrapped: bool, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Say how chocolate keeps in a store.

    Looks at warmth, swings, damp, odours and the freezer. Give --at, or --coolest and --warmest
    of a day. Warns from 22 degC, alarms from 24.
    """
    from snapgloss.base.units import show_temperature
    from snapgloss.chocolate.storage import judge_store, worst

    low_mc, high_mc = _span(at_mc, coolest_mc, warmest_mc)
    percent = None if humidity_permille is None else humidity_permille / 10
    found = judge_store(low_mc / 1000, high_mc / 1000, percent, odours, wrapped, fahrenheit)
    if as_json:
        options.print_json({"level": worst(found), "findings": [f._asdict() for f in found]})
        return
    shown = " to ".join(show_temperature(mc, fahrenheit) for mc in sorted({low_mc, high_mc}))
    click.echo(f"{shown}: {'keeps well' if worst(found) == 'well' else worst(found)}.")
    for finding in found:
        click.echo(options.hanging("  ", finding.words))


def _span(at_mc: int | None, coolest_mc: int | None, warmest_mc: int | None) -> tuple[int, int]:
    if at_mc is not None and coolest_mc is None and warmest_mc is None:
        return at_mc, at_mc
    if at_mc is None and coolest_mc is not None and warmest_mc is not None:
        return coolest_mc, warmest_mc
    raise InputError(
        "A store has one temperature or two.", "Give --at, or --coolest and --warmest."
    )
