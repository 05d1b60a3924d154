"""The commands about chocolate put together: mixed by heat, and melted again."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.chocolate.mixing import Portion
    from snapgloss.chocolate.remelt import Lot, Remelt


@click.command()
@click.option("--bowl", "bowl_g", type=options.MASS, required=True, help="Chocolate in the bowl.")
@click.option(
    "--bowl-at",
    "bowl_mc",
    type=options.TEMPERATURE,
    required=True,
    help="Its temperature; it is melted.",
)
@click.option("--add", "add_g", type=options.MASS, help="Chocolate that is added.")
@click.option(
    "--add-at",
    "add_mc",
    type=options.TEMPERATURE,
    required=True,
    help="Temperature of what is added.",
)
@click.option("--set", "is_set", is_flag=True, help="What is added is solid.")
@click.option(
    "--to",
    "to_mc",
    type=options.TEMPERATURE,
    help="Temperature to reach: says how much to add instead of --add.",
)
@options.described
@options.kind
@options.as_json
@options.fahrenheit
def mix(
    bowl_g: int, bowl_mc: int, add_g: int | None, add_mc: int, is_set: bool, to_mc: int | None,
    described: Path | None, kind: str | None, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Say how warm a mixture is, or how much to add.

    Counts the heat that solid chocolate takes to melt: worth some 29 degC of plain warming. The
    heat of the bowl itself is left out.
    """
    if (add_g is None) == (to_mc is None):
        raise InputError("Either the mass or the target is asked for.", "Give --add or --to.")
    # With a target the mass is what is asked for; 1 g stands in for it until it is known.
    given_g = 1 if add_g is None else add_g
    bowl, added = _portions(described, kind, (bowl_g, bowl_mc), (given_g, add_mc), is_set)
    found = _mixed(bowl, added, to_mc)
    if as_json:
        options.print_json(found)
        return
    for line in _mix_lines(found, is_set, fahrenheit):
        click.echo(options.hanging("", line))


def _portions(
    described: Path | None, kind: str | None, bowl: tuple[int, int], added: tuple[int, int],
    is_set: bool,
) -> "tuple[Portion, Portion]":  # fmt: skip
    from snapgloss.chocolate.mixing import Portion

    limits = options.chocolate_of(described, kind).chocolate_type
    heats = (limits.specific_heat, limits.latent_heat, limits.depression_k)
    return (
        Portion(bowl[0], bowl[1] / 1000, False, *heats),
        Portion(added[0], added[1] / 1000, is_set, *heats),
    )


def _mixed(bowl: "Portion", added: "Portion", to_mc: int | None) -> dict[str, Any]:
    from dataclasses import replace

    from snapgloss.chocolate import mixing

    if to_mc is not None:
        added = replace(added, mass_g=mixing.mass_to_reach(bowl, added, to_mc / 1000))
    found = mixing.mix([bowl, added])
    return {
        "add_g": round(added.mass_g, 1),
        "mass_g": round(found.mass_g, 1),
        "at_c": round(found.at_c, 3),
        "still_set_share": round(found.still_set_share, 4),
        "top_up_trouble": mixing.top_up_trouble(bowl.mass_g, added),
    }


def _mix_lines(found: dict[str, Any], is_set: bool, fahrenheit: bool) -> list[str]:
    from snapgloss.base.fahrenheit import in_fahrenheit
    from snapgloss.base.units import show_mass, show_temperature

    add, whole = show_mass(round(found["add_g"])), show_mass(round(found["mass_g"]))
    at = show_temperature(round(found["at_c"] * 1000), fahrenheit)
    lines = [f"{add} added: {whole} at {at}."]
    if is_set:
        lines.append(f"{found['still_set_share'] * 100:.0f} % of what was added is still set.")
    if found["top_up_trouble"]:
        trouble = found["top_up_trouble"]
        if fahrenheit:
            trouble = in_fahrenheit(trouble)
        lines.append(f"For a bowl at work this is too much. {trouble}")
    return lines


@click.command()
@click.option("--new", "new_g", type=options.MASS, help="New chocolate.")
@click.option(
    "--old", "old_g", type=options.MASS, required=True, help="Chocolate that was tempered before."
)
@click.option(
    "--from",
    "described",
    type=click.Path(path_type=Path),
    metavar="CHOCOLATE.toml",
    help="Description of the new chocolate.",
)
@options.kind
@click.option(
    "--old-from",
    "old_described",
    type=click.Path(path_type=Path),
    metavar="CHOCOLATE.toml",
    help="Description of the old one. Default: as the new.",
)
@click.option(
    "--old-type",
    "old_kind",
    type=click.Choice(["dark", "milk", "white"]),
    help="Type of the old one. Default: as the new.",
)
@click.option(
    "--times",
    type=click.IntRange(1, 20),
    default=1,
    show_default=True,
    help="How often the old one was tempered.",
)
@click.option(
    "--age-days",
    type=click.IntRange(0, 5000),
    default=0,
    show_default=True,
    help="Age of the old one.",
)
@click.option("--bloomed", is_flag=True, help="The old one has bloom.")
@click.option("--inclusions", is_flag=True, help="The old one has nuts, nibs or the like in it.")
@click.option(
    "--may-contain",
    "traces",
    multiple=True,
    metavar="ALLERGEN",
    help="What bowl and tools held before; may be given again.",
)
@click.option(
    "--cleaning-verified",
    is_flag=True,
    help="Bowl and tools were cleaned since, and the cleaning was verified.",
)
@options.as_json
@options.fahrenheit
def remelt(
    new_g: int | None, old_g: int, described: Path | None, kind: str | None,
    old_described: Path | None, old_kind: str | None, traces: tuple[str, ...],
    cleaning_verified: bool, as_json: bool, fahrenheit: bool, **old: Any,
) -> None:  # fmt: skip
    """Say how to melt bars again.

    How hot, how long, which share, and what stays on the label. Never with inclusions. Allergens
    stay with the mixture, and "may contain" stays until a cleaning was verified; flushing is none.
    """
    from snapgloss.chocolate.remelt import plan_remelt

    if old_described is None and old_kind is None:
        old_described, old_kind = described, kind
    lots = [_lot(old_g, old_described, old_kind, **old)]
    if new_g is not None:
        lots.insert(0, _lot(new_g, described, kind, times=0))
    found = plan_remelt(lots, frozenset(traces), cleaning_verified)
    if as_json:
        from dataclasses import asdict

        options.print_json(asdict(found))
        return
    for line in _remelt_lines(found, fahrenheit):
        click.echo(options.hanging("", line))


def _lot(
    mass_g: int, described: Path | None, kind: str | None, *, times: int, age_days: int = 0,
    bloomed: bool = False, inclusions: bool = False,
) -> "Lot":  # fmt: skip
    from snapgloss.chocolate.remelt import Lot

    chocolate = options.chocolate_of(described, kind)
    return Lot(
        chocolate.name, chocolate.type, mass_g, times, age_days, bloomed,
        inclusions or chocolate.inclusions is not None, frozenset(chocolate.allergens),
        frozenset(chocolate.may_contain),
    )  # fmt: skip


def _remelt_lines(found: "Remelt", fahrenheit: bool) -> list[str]:
    from snapgloss.base.units import show_mass, show_span, show_temperature

    lines = [
        f"{show_mass(round(found.mass_g))}, {found.kind}, {found.used_share * 100:.0f} % of it "
        "tempered before.",
        f"Melt at {show_temperature(found.melt_mc, fahrenheit)}; every lump gone, then rest "
        f"{show_span(found.rest_s)}, stirred.",
    ]
    if found.allergens:
        lines.append(f"Contains {', '.join(found.allergens)}.")
    return [*lines, *found.warnings]
