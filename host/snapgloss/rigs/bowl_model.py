"""What a probe reads in the regulator's own model, many sets of its parameters at once.

The same bowl as `rigfw.flows` has, in rates of the whole heat capacity: element, plate,
chocolate and two lags of the probe. Besides, the heater wanders with the mains: a line through
knots `KNOT_S` apart. Only liquid chocolate that sets nothing.
"""

from typing import Any, NamedTuple

import numpy as np

from rigfw import model
from rigfw.config import RigConfig
from rigfw.model import COUNT, ELEMENT, FAN, GAIN, LOSS, PLATE, PROBE, ROOM, SECOND, SHARE, STATES
from snapgloss.rigs.heat_model import Array

LEARNED = (GAIN, LOSS, FAN, PLATE, PROBE, SHARE, ROOM, ELEMENT, SECOND)
"""The parameters of `rigfw.model` that a log shows; the mass is the one on the scales."""
PLATE_PART = len(LEARNED)
"""Share of the loss in still air that leaves by the plate; then, at the begin: the chocolate,
the plate over it, the first lag over it, the second over the first (degC), the element's heat
as a share of what full power keeps in it; then the knots, logarithms."""
BEGIN = PLATE_PART + 1
BODIES = 5
KNOTS = BEGIN + BODIES
KNOT_S = 240
BLOCK_S = 90
STEP_S = 0.5


class Rates(NamedTuple):
    """Of each set, one number a set, as `rigfw.model` has them; plate's `share` of the heat
    capacity, `through` from plate to chocolate, 1/s."""

    gain: Array
    plate_loss: Array
    bowl_loss: Array
    fan: Array
    share: Array
    through: Array
    first_s: Array
    second_s: Array
    element_s: Array
    room_c: Array


def rates_of(config: RigConfig, mass_g: int, sets: Array) -> Rates:
    """Return the rates of every set (k by unknowns) on a rig described so."""
    rows = [_rates(config, mass_g, one) for one in sets]
    return Rates(*np.array(rows).T)


def _rates(config: RigConfig, mass_g: int, one: Array) -> Rates:
    described: Any = model.Model  # untyped, for it runs on a board as well
    rates, x = described(config), [0.0] * (STATES + COUNT)
    for name, value in zip(LEARNED, one, strict=False):
        x[name] = float(value)
    rates.begin(mass_g)
    rates.set(x)
    loss = rates.plate_loss + rates.bowl_loss
    through = rates.share * (1.0 - rates.share) / rates.plate_s
    return Rates(
        rates.gain, one[PLATE_PART] * loss, (1.0 - one[PLATE_PART]) * loss, rates.fan,
        rates.share, through, rates.probe_s, rates.second_s, rates.element_s, rates.room_c,
    )  # fmt: skip


def knots_of(length: int) -> int:
    """Return how many knots so many seconds have."""
    return length // KNOT_S + 2


def readings_of(sets: Array, rates: Rates, heat: Array, fan: Array) -> Array:
    """Return what the probe should read, one row a second, one column a set.

    Temperatures go in linearly, so a log is cut into blocks that are walked side by side.
    """
    length, count = len(heat), len(sets)
    driven = rates.gain * _wander(sets[:, KNOTS:], length)
    heated = _blocks(driven * heat[:, None])
    rows, ends = _walked(rates, heated, _blocks(fan[:, None])[:, :, 0])
    begins = np.empty((len(ends), BODIES, count))
    begins[0] = _begin(sets, rates)
    for at in range(1, len(begins)):
        begins[at] = ends[at - 1, :, 0] + (ends[at - 1, :, 1:] * begins[at - 1]).sum(axis=1)
    readings = rows[:, :, 0] + (rows[:, :, 1:] * begins).sum(axis=2)
    whole: Array = readings.swapaxes(0, 1).reshape(-1, count)[:length]
    return whole


def _begin(sets: Array, rates: Rates) -> Array:
    bowl_c, plate, first, second, held = sets[:, BEGIN:KNOTS].T
    first_c = bowl_c + first
    element = held * rates.gain * rates.element_s
    return np.array([element, bowl_c + plate, bowl_c, first_c, first_c + second])


def _wander(knots: Array, length: int) -> Array:
    """Return the heater over its usual power: second and set."""
    at = np.arange(length) / KNOT_S
    left = at.astype(int)
    part = (at - left)[:, None]
    line: Array = np.exp(knots.T[left] * (1.0 - part) + knots.T[left + 1] * part)
    return line


def _blocks(values: Array) -> Array:
    """Return values by second as block, second of it, set."""
    padded = np.zeros((-(-len(values) // BLOCK_S) * BLOCK_S, values.shape[1]))
    padded[: len(values)] = values
    return padded.reshape(-1, BLOCK_S, values.shape[1])


def _walked(rates: Rates, heated: Array, fan: Array) -> tuple[Array, Array]:
    """Return each block's readings (second, block, start, set) and the bodies at its end (block,
    body, start, set). Start 0 is driven from nothing, the others are one of one body."""
    blocks, _, count = heated.shape
    bodies = np.zeros((BODIES, blocks, BODIES + 1, count))
    for body in range(BODIES):
        bodies[body, :, body + 1] = 1.0
    element, plate_c, bowl_c, first_c, second_c = bodies
    glow, follow, after = (
        -np.expm1(-STEP_S / lag) for lag in (rates.element_s, rates.first_s, rates.second_s)
    )
    on = np.eye(BODIES + 1)[:, :1]
    room_c = on * rates.room_c
    rows = np.empty((BLOCK_S, *second_c.shape))
    for at in range(BLOCK_S):
        rows[at] = second_c
        given = STEP_S * heated[:, at, None, :] * on
        loss = rates.plate_loss + rates.fan * fan[:, at, None, None]
        for _ in range(round(1.0 / STEP_S)):
            out = element * glow
            flow = STEP_S * rates.through * (plate_c - bowl_c)
            warms = flow - STEP_S * rates.bowl_loss * (bowl_c - room_c)
            plate_c += (out - flow - STEP_S * loss * (plate_c - room_c)) / rates.share
            element += given - out
            was_c = first_c.copy()
            bowl_warms_c = warms / (1.0 - rates.share)
            first_c += follow * (bowl_c + 0.5 * bowl_warms_c - first_c)
            second_c += after * (0.5 * (was_c + first_c) - second_c)
            bowl_c += bowl_warms_c
    return rows, bodies.swapaxes(0, 1)
