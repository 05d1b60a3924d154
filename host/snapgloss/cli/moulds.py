"""The command that plans moulds and the mass of a batch."""

from typing import Any

import click

from snapgloss.cli import options

bars = click.option("--bars", type=int, required=True, help="Good bars wanted.")
each = click.option(
    "--each",
    "each_g",
    type=options.MASS,
    default="60 g",
    show_default=True,
    help="Mass of one bar.",
)
cavities = click.option(
    "--cavities", type=int, default=8, show_default=True, help="Bars in one mould."
)
seconds = click.option(
    "--seconds",
    "seconds_permille",
    type=options.SHARE,
    default="5 %",
    show_default=True,
    help="Share of the bars poured that will not be good.",
)
scraping = click.option(
    "--scraping",
    "scraping_permille",
    type=options.SHARE,
    default="3 %",
    show_default=True,
    help="Share of the batch that stays on bowl and tools; at least 40 g.",
)


@click.command()
@bars
@each
@cavities
@seconds
@scraping
@click.option(
    "--mould-at", "mould_mc", type=options.TEMPERATURE, help="Temperature of the moulds now."
)
@click.option(
    "--work-at",
    "work_mc",
    type=options.TEMPERATURE,
    default="31.5 C",
    show_default=True,
    help="Temperature of the chocolate poured.",
)
@options.as_json
@options.fahrenheit
def moulds(
    mould_mc: int | None, work_mc: int, as_json: bool, fahrenheit: bool, **wish: Any
) -> None:
    """Say what so many bars take.

    How many moulds, and how much chocolate in the bowl, with bars that will not be good and what
    stays on bowl and tools. With --mould-at: whether moulds of that temperature may be filled.
    """
    from snapgloss.base.units import show_mass
    from snapgloss.chocolate.moulds import judge_mould, show_moulds

    plan = plan_of(**wish)
    mould = None if mould_mc is None else judge_mould(mould_mc, work_mc, fahrenheit)
    if as_json:
        fits = {"mould_fits": mould[0], "mould_words": mould[1]} if mould else {}
        options.print_json({**plan._asdict(), "batch_g": plan.batch_g, **fits})
        return
    bars = "1 bar" if plan.pieces == 1 else f"{plan.pieces} bars"
    spare = plan.spare_cavities
    empty = "1 cavity stays" if spare == 1 else f"{spare} cavities stay"
    click.echo(
        f"{bars} of {show_mass(plan.piece_g)}: pour {plan.poured}, in "
        f"{show_moulds(plan.moulds)} of {plan.cavities}; {empty} empty."
    )
    click.echo(
        f"Temper {show_mass(plan.batch_g)}: {show_mass(plan.chocolate_g)} in the moulds, "
        f"{show_mass(plan.scraping_g)} stay on bowl and tools."
    )
    if mould:
        click.echo(mould[1])


def plan_of(
    bars: int, each_g: int, cavities: int, seconds_permille: int, scraping_permille: int
) -> Any:
    """Return the mould plan of these options."""
    from snapgloss.chocolate.moulds import plan_moulds

    return plan_moulds(bars, each_g, cavities, seconds_permille / 1000, scraping_permille / 1000)
