"""The command that says what follows from a chocolate's description."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.chocolate.description import ChocolateDescription
    from snapgloss.chocolate.figures import Figure

WORDS = {
    "fat": "fat",
    "milk_fat": "milk fat in it",
    "latent_heat": "heat of melting",
    "specific_heat": "specific heat",
    "density_liquid": "density, liquid",
    "density_set": "density, set",
    "depression": "melts lower by",
    "work": "work at",
    "work_cap": "work at most at",
    "wall_cap": "wall at most",
    "never_above": "never above",
}


@click.command()
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@options.as_json
@options.fahrenheit
def chocolate(file: Path, as_json: bool, fahrenheit: bool) -> None:
    """Say what follows from a chocolate's file.

    Fat, heats, density, how far milk fat lowers its melting, and the caps: each with how far it
    may be off and the source of its formula. FILE is a description of a chocolate.
    """
    from snapgloss.chocolate import description
    from snapgloss.chocolate.figures import figures_of

    found = description.read(file)
    figures = figures_of(found)
    if as_json:
        options.print_json(_as_data(found, figures))
        return
    click.echo(f"{found.name}, {found.type}")
    for name, figure in figures.items():
        begin = f"  {WORDS[name]:<17}{_shown(figure, fahrenheit):<20}"
        click.echo(options.hanging(begin, figure.source))
    for line in _notes(found):
        click.echo(line)


def _shown(figure: "Figure", fahrenheit: bool) -> str:
    from snapgloss.base.units import show_difference, show_temperature

    value, off = figure.value, figure.plus_minus
    match figure.unit:
        case "C":
            shown = show_temperature(round(value * 1000), fahrenheit)
            return f"{shown} ± {show_difference(off, fahrenheit)}"
        case "K":
            return (
                f"{show_difference(value, fahrenheit, 2)} ± {off * (1.8 if fahrenheit else 1):.2f}"
            )
        case "J/kg":
            return f"{value / 1000:.1f} ± {off / 1000:.1f} kJ/kg"
        case "J/kg K" | "kg/m3":
            return f"{value:.0f} ± {off:.0f} {figure.unit}"
    return f"{value * 100:.1f} ± {off * 100:.1f} %"


def _names(found: "ChocolateDescription") -> list[str]:
    from snapgloss.chocolate.sales_names import names_of

    return names_of(found.recipe, found.type) if found.recipe.known else []


def _notes(found: "ChocolateDescription") -> list[str]:
    from snapgloss.chocolate.sales_names import BY_TYPE, shortfalls

    lines = []
    if found.recipe.known:
        names = _names(found)
        if names:
            lines.append(f"May be sold in the EU as {' or '.join(names)} (2000/36/EC).")
        else:
            usual = BY_TYPE[found.type][0]
            missing = "; ".join(shortfalls(found.recipe, usual))
            lines.append(f"Not {usual} by 2000/36/EC: {missing}.")
    if found.allergens:
        lines.append(f"Contains {', '.join(found.allergens)}.")
    if found.may_contain:
        lines.append(f"May contain {', '.join(found.may_contain)}.")
    return lines


def _as_data(found: "ChocolateDescription", figures: "dict[str, Figure]") -> dict[str, Any]:
    shown = {
        name: {**figure._asdict(), "value": round(figure.value, 6)}
        for name, figure in figures.items()
    }
    return {
        "chocolate": found.model_dump(mode="json", exclude_defaults=True),
        "figures": shown,
        "names_in_the_eu": _names(found) if found.recipe.known else None,
    }
