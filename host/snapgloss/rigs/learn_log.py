"""From the readings of a run to what can be learned from: liquid chocolate that sets nothing."""

from collections.abc import Sequence

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.base.records import Reading
from snapgloss.chocolate.types import ChocolateType
from snapgloss.rigs.heat_model import Array, Log

LIQUID_C = 40.0
"""All is melted from here on: the triangle of melting ends at 35.5 degC, and pieces follow."""
SETS_BELOW_C = 30.5
"""From 30 degC on downwards crystals are born (`chocolate.crystals`); their heat would pass for
another loss, and a tenth of a degree of it for another plate."""
BEFORE = ("melting", "resting", "cooling")


def log_of(
    readings: Sequence[Reading], mass_g: int, kind: ChocolateType, room_c: float | None
) -> Log:
    """Return the log of a run's readings, one row for each second between the first and last.

    From the first reading of `LIQUID_C` to the first under `SETS_BELOW_C`, or of a step in which
    something is added. `room_c` None: as the room probe says; without one an InputError.
    """
    chosen = _liquid(readings)
    if not chosen:
        raise InputError(
            f"The run has no readings of chocolate that was all melted ({LIQUID_C:g} °C).",
            "Choose a run that melted, or melt and cool once.",
        )
    seconds = np.array([round((one.at_ms - chosen[0].at_ms) / 1000) for one in chosen])
    product_c = _spread(seconds, [one.product_mc for one in chosen], 1000.0)
    room = [one.room_mc for one in chosen]
    return Log(
        product_c,
        _held(_spread(seconds, [one.heat_permille for one in chosen], 1000.0)),
        _held(_spread(seconds, [one.fan_permille for one in chosen], 1000.0)),
        _room(_spread(seconds, room, 1000.0), room_c),
        mass_g / 1000.0,
        kind,
    )


def _liquid(readings: Sequence[Reading]) -> list[Reading]:
    chosen: list[Reading] = []
    for one in readings:
        is_hot = one.product_mc is not None and one.product_mc >= LIQUID_C * 1000
        if not chosen and not is_hot:
            continue
        sets = one.product_mc is not None and one.product_mc < SETS_BELOW_C * 1000
        if sets or one.state not in BEFORE:
            break
        chosen.append(one)
    return chosen


def _spread(seconds: np.ndarray, values: Sequence[int | None], per_unit: float) -> Array:
    """Return one value a second, NaN where there is none."""
    spread: Array = np.full(int(seconds[-1]) + 1, np.nan)
    for at, value in zip(seconds, values, strict=True):
        if value is not None:
            spread[int(at)] = value / per_unit
    return spread


def _held(values: Array) -> Array:
    """Return an output with gaps taken as what it was before."""
    at = np.where(np.isfinite(values), np.arange(len(values)), 0)
    held: Array = values[np.maximum.accumulate(at)]
    return np.nan_to_num(held)


def _room(measured_c: Array, said_c: float | None) -> Array:
    if said_c is not None:
        return np.full(len(measured_c), said_c)
    if not np.isfinite(measured_c).any():
        raise InputError(
            "The run says nothing of the room's temperature.", "Give it, such as --room 21C."
        )
    return _held(np.where(np.isfinite(measured_c), measured_c, np.nanmedian(measured_c)))
