"""What a rig shall do, checked; and the form of one result."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.rigs.sizing_heat import COOL_C


@dataclass(frozen=True)
class Wanted:
    """What a rig shall do. Temperatures in degC, times in s; `coolant_c` None means a fan."""

    mass_kg: float
    room_c: float
    melt_s: float
    cool_s: float
    least_kg: float | None = None  # the smallest batch; None = a quarter of the mass
    cable_m: float = 1.5
    has_sense: bool = True
    coolant_c: float | None = None
    heater_w: int | None = None  # None = the smallest usual one that is enough

    def __post_init__(self) -> None:
        within("mass", self.mass_kg, 0.25, 10, "kg")
        within("room", self.room_c, 5, 35, "°C")
        within("time to melt", self.melt_s / 60, 20, 360, "min")
        within("time to cool", self.cool_s / 60, 5, 240, "min")
        within("cable", self.cable_m, 0.1, 5, "m")
        within("smallest batch", self.smallest_kg, 0.25, self.mass_kg, "kg")
        if self.coolant_c is not None:
            within("coolant", self.coolant_c, 5, COOL_C - 3, "°C")
        elif self.room_c > COOL_C - 1.5:
            raise InputError(
                f"No fan cools chocolate to {COOL_C:g} °C in a room of {self.room_c:g} °C.",
                "Give a cooler room, or --coolant with its temperature.",
            )

    @property
    def smallest_kg(self) -> float:
        """The smallest batch in kg."""
        return max(0.25, self.mass_kg / 4) if self.least_kg is None else self.least_kg


class Figure(NamedTuple):
    """One result: a key for programs, words, value with unit, how it came about, its source."""

    key: str
    words: str
    value: float
    unit: str
    formula: str
    source: str


def within(what: str, value: float, least: float, most: float, unit: str) -> None:
    """Refuse what is no number or out of range, with the range in words."""
    if not (math.isfinite(value) and least <= value <= most):
        raise InputError(
            f"A {what} of {value:g} {unit} cannot be sized.",
            f"Give {least:g} to {most:g} {unit}.",
        )
