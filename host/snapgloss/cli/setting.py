"""The command that says how long a bar sets in its mould."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.cli import options
from snapgloss.cli.moulds import each

if TYPE_CHECKING:
    from snapgloss.chocolate.refrigerator import TrayLoad
    from snapgloss.chocolate.setting import Bar, Cooling, Setting

_BAR = (
    click.option("--thickness", "thickness_um", type=options.LENGTH, default="7 mm",
                 show_default=True, help="Mean thickness of the bar."),
    click.option("--mould", "mould_g", type=options.MASS,
                 help="Mass of the mould that belongs to one bar. Default: twice the bar's."),
    click.option("--wall", "wall_um", type=options.LENGTH, default="3 mm", show_default=True,
                 help="Thickness of the mould's wall."),
    click.option("--air", "air_mc", type=options.TEMPERATURE, default="12 C", show_default=True,
                 help="Air around the moulds."),
    click.option("--speed", "speed_mm_per_s", type=options.SPEED, default="1 m/s",
                 show_default=True, help="How fast the air moves; still: 0 m/s."),
    click.option("--mould-at", "mould_mc", type=options.TEMPERATURE, default="24 C",
                 show_default=True, help="Temperature of the moulds when they are filled."),
)  # fmt: skip


def bar_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a bar and the air around it."""
    for option in reversed(_BAR):
        command = option(command)
    return command


@click.command()
@each
@bar_options
@options.described
@options.kind
@click.option(
    "--cooling",
    "cooling_w",
    type=options.POWER,
    help="Cooling power of the refrigerator, to count the trays it takes.",
)
@click.option(
    "--bars-per-tray",
    type=click.IntRange(1, 500),
    default=16,
    show_default=True,
    help="Bars on one tray.",
)
@options.picture
@options.as_json
@options.fahrenheit
def setting(
    described: Path | None, kind: str | None, cooling_w: int | None, bars_per_tray: int,
    picture: Path | None, as_json: bool, fahrenheit: bool, **wish: Any,
) -> None:  # fmt: skip
    """Say when a bar is released and when it is set.

    And how many trays a refrigerator takes at once. An estimate: crystals grow as in our own
    model. Common practice is 20 minutes in air of 10 to 14 degC. Look underneath at 15: evenly
    pale is released.
    """
    from snapgloss.chocolate.setting import lumped_minutes, settle
    from snapgloss.runs.usual_bar import bar_and_cooling

    bar, cooling = bar_and_cooling(options.chocolate_of(described, kind), **wish)
    found = settle(bar, cooling)
    load = _load(found, cooling_w, bars_per_tray)
    if picture:
        _draw(bar, cooling, found, picture, fahrenheit)
    lumped = lumped_minutes(bar, cooling, cooling.air_c + 4)
    if as_json:
        options.print_json(_as_data(found, lumped, load))
        return
    for line in _lines(found, lumped, load, bars_per_tray, fahrenheit):
        click.echo(options.hanging("", line))
    if picture:
        click.echo(f"Drawn into {picture}.")


def _load(found: "Setting", cooling_w: int | None, bars_per_tray: int) -> "TrayLoad | None":
    from snapgloss.chocolate.refrigerator import trays_at_once

    if cooling_w is None or found.released_min is None:
        return None
    at = int(found.minutes.searchsorted(found.released_min))
    return trays_at_once(cooling_w, float(found.given_j[at]), bars_per_tray, found.released_min)


def _draw(bar: "Bar", cooling: "Cooling", found: "Setting", path: Path, fahrenheit: bool) -> None:
    from snapgloss.report import planned
    from snapgloss.report.setting_picture import draw_setting

    planned.save(draw_setting(bar, cooling, found, fahrenheit), path)


def _lines(
    found: "Setting", lumped_min: float, load: "TrayLoad | None", bars_per_tray: int,
    fahrenheit: bool,
) -> list[str]:  # fmt: skip
    from snapgloss.base.units import show_difference, show_temperature
    from snapgloss.chocolate.setting import PRACTICE_MIN

    def band(*edges_mc: int) -> str:
        return " to ".join(show_temperature(mc, fahrenheit) for mc in edges_mc)

    if found.released_min is None:
        air = band(10_000, 14_000)
        return [f"It does not release within {found.minutes[-1]:.0f} min: use air of {air}."]
    ends = f"Set after about {found.set_min:.0f} min." if found.set_min else "Not set within 6 h."
    lines = [
        f"Released after about {found.released_min:.0f} min (practice says {PRACTICE_MIN:.0f}); "
        "look underneath at 15: evenly pale = released.",
        f"{ends} Leave it to finish at {band(18_000, 20_000)}.",
        f"As one mass, by its heat alone down to {show_difference(4.0, fahrenheit)} over the air: "
        f"{lumped_min:.0f} min.",
    ]
    if load is not None:
        lines.append(_tray_words(load, bars_per_tray))
    return lines


def _tray_words(load: "TrayLoad", bars_per_tray: int) -> str:
    if not load.at_once:
        return f"Not even one tray of {bars_per_tray} bars: fewer bars, or more cooling."
    trays = "1 tray" if load.at_once == 1 else f"{load.at_once} trays"
    return (
        f"The refrigerator takes {trays} of {bars_per_tray} bars at once, or one more every "
        f"{load.each_min:.0f} min."
    )


def _as_data(found: "Setting", lumped_min: float, load: "TrayLoad | None") -> dict[str, Any]:
    def rounded(value: float | None) -> float | None:
        return None if value is None else round(float(value), 2)

    return {
        "released_min": rounded(found.released_min),
        "set_min": rounded(found.set_min),
        "lumped_min": rounded(lumped_min),
        "practice_min": 20.0,
        "minutes": [rounded(m) for m in found.minutes],
        "mean_c": [rounded(c) for c in found.mean_c],
        "set_share": [round(float(s), 4) for s in found.set_share],
        "heat_j": rounded(found.given_j[-1]),
        "trays": None if load is None else load._asdict(),
    }
