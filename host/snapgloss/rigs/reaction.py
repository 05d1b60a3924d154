"""The time there is to react, against the time the firmware takes: process safety time, in words.

With all heat on and nothing lost, a mass needs delta-T C / P to get warmer by delta-T. Each hazard
that the firmware finds by itself has a bound in seconds in hazards.toml.
"""

import tomllib
from importlib.resources import files
from typing import NamedTuple

from snapgloss.rigs import sizing_heat

ALLOWED_K = 5.0
"""Own choice: 5 K too much spoils a temper and hurts nobody."""
AT_FULL_HEAT = (
    "probe_missing",
    "probe_range",
    "probe_jump",
    "plate_missing",
    "stop_loop",
    "frozen_program",
    "switch_shorted",
    "probe_out",
    "stirrer_jam",
)
"""Hazards in which all heat may run on until they are found. In the others a temperature ends it
(a plate that is too hot), or there is no heat (a dead heater), whatever their time."""
UNSENSED_S = 120.0
"""A shorted switch whose node is not sensed is found by its heat alone (SAFETY.md)."""
LEAST_S = 34.0
"""What all limits of the firmware rest on: 5 K last as long for 0.25 kg in its bowl at 100 W."""


class Race(NamedTuple):
    """One hazard: how long it may go on, and how far the chocolate gets meanwhile at full heat."""

    key: str
    what: str
    bound_s: float
    rise_k: float
    is_in_time: bool

    def sentence(self) -> str:
        """The race in plain words."""
        verdict = "In time." if self.is_in_time else "Too late for the temper: the cut-out's."
        return (
            f"{self.what}: heat ends within {self.bound_s:g} s; by then the chocolate is at most "
            f"{self.rise_k:.1f} °C warmer. {verdict}"
        )


def reaction_s(kelvin: float, held_j_per_k: float, heater_w: float) -> float:
    """Seconds in which all of the heat warms that much by `kelvin`: delta-T C / P."""
    return kelvin * held_j_per_k / heater_w


def least_mass_kg(heater_w: float) -> float:
    """The smallest batch for which the firmware's time to react holds."""
    needed_j_per_k = heater_w * LEAST_S / ALLOWED_K
    mass_kg = 0.05
    while sizing_heat.held_j_per_k(mass_kg) < needed_j_per_k:
        mass_kg += 0.01
    return mass_kg


def races(held_j_per_k: float, heater_w: float, has_sense: bool) -> list[Race]:
    """Every hazard of AT_FULL_HEAT, worst first. `has_sense`: the heater's node is sensed."""
    found = []
    for row in _hazards():
        bound_s = float(row["bound_s"])
        if row["key"] == "switch_shorted" and not has_sense:
            bound_s = UNSENSED_S
        rise_k = heater_w * bound_s / held_j_per_k
        found.append(Race(row["key"], row["what"], bound_s, rise_k, rise_k <= ALLOWED_K))
    return sorted(found, key=lambda race: -race.rise_k)


def _hazards() -> list[dict[str, str]]:
    text = files("rigwire").joinpath("hazards.toml").read_text(encoding="utf-8")
    rows: list[dict[str, str]] = tomllib.loads(text)["hazard"]
    return [row for row in rows if row["key"] in AT_FULL_HEAT]
