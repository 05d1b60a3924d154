"""The rig as the fit sees it: element, plate, chocolate, probe; many sets of figures at once.

    element dE/dt  = heater - E
    C_plate dTp/dt = E - h (Tp - T) - loss_p (Tp - room) - fan (Tp - room)
    m c dT/dt      = h (Tp - T) - loss_c (T - room)
    lag dY/dt      = T - Y,  and what is read at t is Y (t - dead)

Only liquid chocolate that is too warm for crystals: what melts, sets or is poured is left out of
a log (`learn_log`).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

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
"""What is fitted and told, in this order, as natural logarithms."""
BESIDE = ("plate_c", "product_c", "log_specific", "room_k", "plate_part", "log_element_s")
"""What is fitted besides, for it is in doubt: degC of both at the begin, the logarithm of the
specific heat over the usual, K of the room over what was said, share of the loss that leaves by
the plate, the logarithm of the element's lag in s."""
PLATE_AT = len(FIGURES)
UNKNOWNS = len(FIGURES) + len(BESIDE)
BODIES = 4
"""Element, plate, chocolate and probe."""
BLOCK_S = 90
"""About the root of a run's length: as many blocks side by side as seconds in a row."""
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


def readings_c(sets: Array, log: Log, dead_s: int) -> Array:
    """Return what the probe should read, one row a second, one column a set.

    `sets` is k by UNKNOWNS: logarithms of FIGURES, then BESIDE. Steps of 1 s, explicit: the
    plate's time constant is ten times as long.

    Temperatures go in linearly, so a run is cut into blocks that are walked side by side: each
    once driven from 0 degC, and once for a degree of each of plate, chocolate and reading.
    """
    rows, ends = _blocks(sets, _drives(log), log.mass_kg * log.kind.specific_heat)
    begins = np.empty((len(ends), BODIES, len(sets)))
    begins[0, 0] = log.heat[0]
    begins[0, 1] = sets[:, PLATE_AT]
    begins[0, 2:] = sets[:, PLATE_AT + 1]
    for at in range(1, len(begins)):
        begins[at] = ends[at - 1, :, 0] + (ends[at - 1, :, 1:] * begins[at - 1]).sum(axis=1)
    readings = rows[:, :, 0] + (rows[:, :, 1:] * begins).sum(axis=2)
    readings = readings.swapaxes(0, 1).reshape(-1, len(sets))
    late: Array = readings[np.maximum(np.arange(len(log.heat)) - dead_s, 0)]
    return late


def _drives(log: Log) -> Array:
    """Return heat, fan and room by second of a block and block."""
    length = len(log.heat)
    padded = np.zeros((3, -(-length // BLOCK_S) * BLOCK_S))
    padded[:, :length] = log.heat, log.fan, log.room_c
    return padded.reshape(3, -1, BLOCK_S).swapaxes(1, 2)


def _blocks(sets: Array, driven: Array, usual_j_per_k: float) -> tuple[Array, Array]:
    """Return each block's readings (second, block, start, set) and the bodies at its end (block,
    body, start, set). Start 0 is driven from 0 degC, the others are a degree of one body."""
    heater_w, plate, h, loss, fan_loss, lag_s = np.exp(sets[:, : len(FIGURES)]).T
    log_specific, room_k, plate_part, log_element_s = sets[:, PLATE_AT + 2 :].T
    product_j_per_k = usual_j_per_k * np.exp(log_specific)
    still, top = plate_part * loss, (1.0 - plate_part) * loss
    follow, glow = -np.expm1(-1.0 / lag_s), -np.expm1(-np.exp(-log_element_s))
    bodies = np.zeros((BODIES, driven.shape[2], BODIES + 1, len(sets)))
    for body in range(BODIES):
        bodies[body, :, body + 1] = 1.0
    element, plate_c, product_c, reading_c = bodies
    rows = np.empty((BLOCK_S, *reading_c.shape))
    on = np.eye(BODIES + 1)[:, :1]
    for at in range(BLOCK_S):
        heat, fan, said_c = driven[:, at, :, None, None]
        room_c = on * (said_c + room_k)
        rows[at] = reading_c
        flow_w = h * (plate_c - product_c)
        lost_w = (still + fan_loss * fan) * (plate_c - room_c)
        warms_w = flow_w - top * (product_c - room_c)
        plate_c += (heater_w * element - flow_w - lost_w) / plate
        element += glow * (on * heat - element)
        reading_c += follow * (product_c - reading_c)
        product_c += warms_w / product_j_per_k
    return rows, bodies.swapaxes(0, 1)
