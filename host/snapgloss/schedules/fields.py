"""The names a schedule file uses, the model's name for each, and how its value is written.

One table for reading and writing: a file says `target = "31.5 C"`, the model `target_mc = 31500`.
"""

from collections.abc import Callable
from typing import NamedTuple

from snapgloss.base import units


class Quantity(NamedTuple):
    """How a quantity is read from a file, written to it, and shown as an example."""

    parse: Callable[[str], int]
    write: Callable[[int], str]
    example: str


TEMPERATURE = Quantity(units.temperature_mc, units.write_temperature, "31.5 C")
SPAN = Quantity(units.span_s, units.show_span, "10 min")
MASS = Quantity(units.mass_g, units.show_mass, "120 g")
RATE = Quantity(units.rate_mc_per_min, units.write_rate, "1 C/min")


SHARE = Quantity(units.share_permille, units.write_share, "18 %")


class Field(NamedTuple):
    """One name of the file: the model's name, and the quantity or None for plain text."""

    model: str
    quantity: Quantity | None = None


HEAD: dict[str, Field] = {
    "name": Field("name"),
    "chocolate": Field("chocolate"),
    "type": Field("type"),
    "milk_fat": Field("milk_fat_permille", SHARE),
    "method": Field("method"),
    "start": Field("start"),
    "mass": Field("mass_g", MASS),
    "ceiling": Field("ceiling_mc", TEMPERATURE),
}
WINDOW: dict[str, Field] = {
    "low": Field("low_mc", TEMPERATURE),
    "high": Field("high_mc", TEMPERATURE),
}
STEP: dict[str, Field] = {
    "kind": Field("kind"),
    "target": Field("target_mc", TEMPERATURE),
    "hold": Field("hold_s", SPAN),
    "rate": Field("rate_mc_per_min", RATE),
    "wall": Field("wall_mc", TEMPERATURE),
    "prompt": Field("prompt"),
    "wait": Field("wait_s", SPAN),
    "seed": Field("seed_g", MASS),
}


def by_model(table: dict[str, Field], model: str) -> tuple[str, Quantity | None]:
    """Return the file's name and quantity of a model name; the name itself if it has none."""
    for name, field in table.items():
        if field.model == model:
            return name, field.quantity
    return model, None
