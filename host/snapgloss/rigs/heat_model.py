"""The rig as the fit sees it: plate, liquid chocolate and probe, for many sets of figures at once.

    C_plate dTp/dt = heater (t - dead) - h (Tp - T) - loss_p (Tp - room) - fan (Tp - room)
    m c dT/dt      = h (Tp - T) - loss_c (T - room) + crystals
    lag dY/dt      = T - Y

Only liquid chocolate: what melts or is poured is left out of a log (`learn_log`). Crystals set
free what `chocolate.crystals` says for the temperatures logged; it is worth some tenths of a
degree about the low point and would otherwise pass for another loss.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.crystals import Crystals
from snapgloss.chocolate.types import ChocolateType

Array = NDArray[np.float64]
FIGURES = (
    "heater_w",
    "plate_j_per_k",
    "plate_w_per_k",
    "loss_w_per_k",
    "fan_loss_w_per_k",
    "probe_lag_s",
)
"""What is fitted, in this order, as natural logarithms; two more are the temperatures at the
begin (plate, chocolate), degC."""
STARTS = 2
PLATE_LOSS_PART = 0.6
"""Share of the loss in still air that leaves by the plate; assumption, as in the forecast."""


class Log(NamedTuple):
    """A run, one value a second: degC, 0..1, NaN where a reading is missing. `room_c` the room."""

    product_c: Array
    heat: Array
    fan: Array
    room_c: Array
    mass_kg: float
    kind: ChocolateType


def crystal_w(log: Log) -> Array:
    """Return the heat that crystals set free at the temperatures logged, W."""
    crystals = Crystals()
    seen_c = filled(log.product_c)
    per_j = log.mass_kg * log.kind.fat_share
    return np.array([per_j * crystals.step(1.0, float(at_c), 1.0) for at_c in seen_c])


def filled(values: Array) -> Array:
    """Return the values with gaps bridged by straight lines."""
    at = np.arange(len(values))
    there = np.isfinite(values)
    bridged: Array = np.interp(at, at[there], values[there])
    return bridged


def readings_c(sets: Array, log: Log, released_w: Array, dead_s: int) -> Array:
    """Return what the probe should read, one row a second, one column a set.

    `sets` is k by 8: logarithms of FIGURES, then plate and chocolate at the begin. `released_w`
    from `crystal_w`. Steps of 1 s, explicit: the plate's time constant is ten times as long.
    """
    heater_w, plate, h, loss, fan_loss, lag_s = np.exp(sets[:, : len(FIGURES)]).T
    plate_c, product_c = sets[:, len(FIGURES)].copy(), sets[:, len(FIGURES) + 1].copy()
    product = log.mass_kg * log.kind.specific_heat
    still, top = PLATE_LOSS_PART * loss, (1.0 - PLATE_LOSS_PART) * loss
    follow = -np.expm1(-1.0 / lag_s)
    heat = np.concatenate([np.zeros(dead_s), log.heat])[: len(log.heat)]
    reading_c = product_c.copy()
    rows = np.empty((len(log.heat), len(sets)))
    for at in range(len(log.heat)):
        rows[at] = reading_c
        flow_w = h * (plate_c - product_c)
        lost = (still + fan_loss * log.fan[at]) * (plate_c - log.room_c[at])
        warms_w = flow_w - top * (product_c - log.room_c[at]) + released_w[at]
        plate_c = plate_c + (heater_w * heat[at] - flow_w - lost) / plate
        reading_c = reading_c + follow * (product_c - reading_c)
        product_c = product_c + warms_w / product
    return rows
