"""Rigs drawn from a population file: every figure an array with one value for each rig."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DEFAULT_FILE = Path(__file__).with_name("population.toml")


class Rigs:
    """Figures of rigs by name, as in the population file: arrays of one shape, or one float.

    `index` is the number of each rig in its population: rig k of a seed is the same however many
    are drawn beside it.
    """

    def __init__(self, index: NDArray[np.int64], figures: dict[str, Floats]) -> None:
        self.index = index
        self.figures = figures

    def __getattr__(self, name: str) -> Floats:
        try:
            return self.__dict__["figures"][name]
        except KeyError:
            raise AttributeError(name) from None

    def __len__(self) -> int:
        return len(self.index)

    def repeated(self, times: int) -> Rigs:
        """The same rigs `times` times over, one row of all after the other."""
        return self.taken(np.tile(np.arange(len(self)), times))

    def taken(self, places: NDArray[np.int64]) -> Rigs:
        """Those at `places`, in that order."""
        figures = {name: values[places] for name, values in self.figures.items()}
        return Rigs(self.index[places], figures)

    def scaled(self, **factors: float) -> Rigs:
        """The same rigs with some figures multiplied."""
        changed = {name: self.figures[name] * by for name, by in factors.items()}
        return Rigs(self.index, self.figures | changed)

    def having(self, **values: float | Floats) -> Rigs:
        """The same rigs with some figures set."""
        put = {name: np.full(len(self), value) for name, value in values.items()}
        return Rigs(self.index, self.figures | put)


def draw(seed: int, numbers: Sequence[int], path: Path = DEFAULT_FILE) -> Rigs:
    """The rigs of `numbers` (>= 0) in the population of `path` drawn with `seed`."""
    population = tomllib.loads(path.read_text(encoding="utf-8"))
    drawn = population["drawn"]
    rows = [_figures(drawn, np.random.default_rng([seed, number])) for number in numbers]
    figures = {name: np.array([row[name] for row in rows]) for name in drawn}
    for name, value in population["fixed"].items():
        figures[name] = np.full(len(rows), float(value))
    return Rigs(np.array(numbers, dtype=np.int64), figures)


def _figures(drawn: dict[str, dict[str, Any]], random: np.random.Generator) -> dict[str, float]:
    figures = {name: _between(law, random.uniform()) for name, law in drawn.items()}
    for name, law in drawn.items():
        figures[name] *= figures["mass_kg"] ** law.get("mass_power", 0.0)
    return figures


def _between(law: dict[str, Any], share: float) -> float:
    low, high = law["low"], law["high"]
    if law.get("law") == "log":
        return float(low * (high / low) ** share)
    return float(low + (high - low) * share)
