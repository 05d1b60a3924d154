"""The crystals of a recorded batch by the model, and the curves that give it its rate."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from rigwire.tables import ADDITIONS
from snapgloss.base.errors import InputError
from snapgloss.base.records import Event, Reading
from snapgloss.chocolate.curve import features_of
from snapgloss.chocolate.observer import Addition, Observed, Observer, observe
from snapgloss.chocolate.observer_fit import LEAST_CURVES, Growth, Sample, fit_growth
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.temper_bands import CRYSTALS_MOST
from snapgloss.quality.temper_file import read_curve

WALL_OF_PLATE = 0.6
"""How far the wall is on the way from the chocolate to the plate (assumption)."""
IN_TEMPER = 0.02
"""Of the fat set in a bowl that comes in temper (from memory: 1-4 %)."""
MELTS, SET_SHARE = 0.5, 0.76
"""Of chopped seed melts (assumption); of its fat is set at 20 °C (from memory)."""


class RunLog(NamedTuple):
    """A batch as the observer wants it; seconds since its first reading."""

    seconds: list[float]
    product_c: list[float]
    wall_c: list[float]
    shear: list[float]
    additions: list[Addition]


class Usable(NamedTuple):
    """Curves that can be read, how many files could not, and how many held one of them again."""

    samples: list[Sample]
    refused: int
    copies: int


def usable_curves(paths: Iterable[Path]) -> Usable:
    """Read the curves of these files; what the temper check refuses is counted, not used.

    Readings that are there already count once, whatever the file is called: a curve measured once
    says no more when it is named again or copied.
    """
    samples, seen, refused, copies = [], set(), 0, 0
    for path in paths:
        try:
            table = read_curve(path)
            readings = tuple(f"{celsius:.3f}" for celsius in table.celsius)
            if readings in seen:
                copies += 1
                continue
            seen.add(readings)
            samples.append(Sample(*table, features_of(*table)))
        except InputError:
            refused += 1
    return Usable(samples, refused, copies)


def growth_of(samples: Sequence[Sample], kind: ChocolateType) -> Growth | None:
    """Return the growth of this chocolate's crystals; None before enough curves are there."""
    if len(samples) < LEAST_CURVES:
        return None
    return fit_growth(samples, kind.fat_share, kind.specific_heat, kind.depression_k)


def log_of(
    readings: Sequence[Reading], events: Sequence[Event], mass_g: float, fat_share: float
) -> RunLog:
    """Return the log of a batch: temperatures, stirring, and what was put in."""
    zero_ms = readings[0].at_ms if readings else 0
    product_c = [_celsius(one.product_mc) for one in readings]
    plate_c = [_celsius(one.plate_mc) for one in readings]
    return RunLog(
        [(one.at_ms - zero_ms) / 1000 for one in readings],
        product_c,
        [c + WALL_OF_PLATE * (plate - c) for c, plate in zip(product_c, plate_c, strict=True)],
        [one.stir_permille / 1000 for one in readings],
        _additions(events, zero_ms, mass_g, fat_share),
    )


def _celsius(mc: int | None) -> float:
    return math.nan if mc is None else mc / 1000


def _additions(
    events: Sequence[Event], zero_ms: int, mass_g: float, fat_share: float
) -> list[Addition]:
    """What the rig was told of: seed and top-ups; pouring changes no share, only the mass."""
    found = []
    in_bowl_g = mass_g
    for event in events:
        if event.kind != "added" or not 0 <= event.a < len(ADDITIONS):
            continue
        kind, grams = ADDITIONS[event.a], event.b
        if kind == "pour":
            in_bowl_g = max(in_bowl_g - grams, 1.0)
            continue
        in_bowl_g += grams
        share = grams / in_bowl_g
        stable = 0.0 if kind == "top_up" else (1 - MELTS) * SET_SHARE
        if kind == "seed" and share <= CRYSTALS_MOST:  # all of it is fat, and set
            share, stable = share / (fat_share + share * (1 - fat_share)), 1.0
        found.append(Addition((event.at_ms - zero_ms) / 1000, share, stable))
    return found


def observed(log: RunLog, kind: ChocolateType, method: str, growth: Growth) -> Observed:
    """Return what the crystals of a batch were, by the model with this chocolate's own rate."""
    start = IN_TEMPER if method == "kept" else None
    observer = Observer(kind.depression_k, growth.rates, start)
    return observe(log.seconds, log.product_c, log.wall_c, log.shear, log.additions, observer)
