"""The commands about finished bars: may they be turned out, and how they keep."""

from pathlib import Path

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options
from snapgloss.cli.moulds import each

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
    from snapgloss.runs.turning_out import ask

    depression_k = options.chocolate_of(described, kind).chocolate_type.depression_k
    found = ask(bar_mc, room_mc, humidity_permille, depression_k, each_g)
    wait_min = found.wait_min
    if as_json:
        shown = {name: v if isinstance(v, str) else round(v, 2)
                 for name, v in found.air._asdict().items()}  # fmt: skip
        options.print_json({**shown, "wait_min": None if wait_min is None else round(wait_min, 1)})
        return
    for line in found.words(fahrenheit).splitlines():
        click.echo(options.hanging("", line))


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
