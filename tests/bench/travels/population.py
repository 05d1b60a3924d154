"""Rigs drawn from a population file, as arrays with one place for each rig.

A rig depends on the seed and its own number alone: more rigs, or other processes, change none.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FILE = Path(__file__).with_name("population.toml")
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Common:
    """What all rigs of a population share."""

    noise_c: float
    step_c: float
    lost_share: float
    mains_share: float
    has_plate_probe: int
    has_room_probe: int


@dataclass(frozen=True)
class Rigs:
    """The true figures of n rigs, each an array of n. `number` is a rig's own number."""

    number: NDArray[np.int64]
    mass_kg: Array
    heater_w: Array
    element_s: Array
    plate_j_per_k: Array
    coupling_w_per_k: Array
    solid_share: Array
    plate_loss_w_per_k: Array
    fan_loss_w_per_k: Array
    product_loss_w_per_k: Array
    room_c: Array
    latent_j_per_kg: Array
    probe_s: Array
    second_probe_s: Array
    offset_c: Array
    growth: Array
    mains_period_s: Array
    mains_phase: Array
    seed_share: Array
    fan_factor: Array
    room_step_c: Array

    def __len__(self) -> int:
        return len(self.number)

    def take(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> Rigs:
        """Return the rigs at these places."""
        return Rigs(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    def scaled(self, **factors: float) -> Rigs:
        """Return the rigs with these figures multiplied."""
        return replace(self, **{name: getattr(self, name) * by for name, by in factors.items()})

    def fixed(self, **values: float) -> Rigs:
        """Return the rigs with these figures set."""
        return replace(self, **{name: np.full(len(self), by) for name, by in values.items()})


@dataclass(frozen=True)
class Population:
    """A population file, read."""

    rows: dict[str, dict[str, float | str]]
    common: Common

    def draw(self, count: int, seed: int, first: int = 0) -> Rigs:
        """Return rigs `first` to `first + count - 1` of a seed."""
        numbers = range(first, first + count)
        drawn = [self._one(np.random.default_rng([seed, number])) for number in numbers]
        columns = {name: np.array([rig[name] for rig in drawn]) for name in self.rows}
        return Rigs(number=np.array(numbers, dtype=np.int64), **columns)

    def _one(self, random: np.random.Generator) -> dict[str, float]:
        rig: dict[str, float] = {}
        for name, row in self.rows.items():
            low, high = float(row["low"]), float(row["high"])
            at = random.random()
            value = low * (high / low) ** at if row.get("log") else low + at * (high - low)
            if "mass_power" in row:
                value *= rig["mass_kg"] ** float(row["mass_power"])
            if "of" in row:
                value *= rig[str(row["of"])]
            rig[name] = value
        return rig


def read(path: Path = FILE) -> Population:
    """Return the population of a TOML file."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    common = Common(**data.pop("common"))
    return Population(data, common)
