"""How soon anybody could be there: full heat or full fan from a state, the limits obeyed.

The plate is held exactly at its limit once it gets there, as only foresight could, so no
controller arrives sooner from the same state.
"""

from __future__ import annotations

import numpy as np

from rigwire.schedule import Step
from travels.lanes import LONGEST_TRAVEL_S
from travels.plant import STEP_S, STEPS, Plant
from travels.population import Array, Common

NEAR_C = 0.3
"""A travel is over within this distance of its target."""


def first_arrival_s(plant: Plant, step: Step, common: Common) -> Array:
    """Return for each lane the seconds until the bulk is within `NEAR_C` of the true target,
    0 where it is already, `LONGEST_TRAVEL_S` where it does not come there. `plant` is used up;
    its rigs' `mains_phase` is that of this moment, so the heater has what the mains really give.
    """
    rigs = plant.rigs
    target_c = step.target_mc / 1000.0 - rigs.offset_c
    up = plant.product_c < target_c
    fan = np.where(up, 0.0, 1.0)
    side = np.where(up, 1.0, -1.0)
    arrived_s = np.full(len(up), float(LONGEST_TRAVEL_S))
    for second in range(LONGEST_TRAVEL_S):
        plant.begin_second()
        turn = 2.0 * np.pi * second / rigs.mains_period_s + rigs.mains_phase
        supply_w = rigs.heater_w * (1.0 + common.mains_share * np.sin(turn))
        heat_w = np.where(up, supply_w, 0.0)
        for at in range(STEPS):
            there = side * (target_c - plant.product_c) <= NEAR_C
            arrived_s = np.where(there, np.minimum(arrived_s, second + at * STEP_S), arrived_s)
            plant.step(heat_w, fan)
            held_c = np.minimum(plant.plate_c, step.wall_mc / 1000.0 - rigs.offset_c)
            plant.plate_c = np.where(up, held_c, plant.plate_c)
        if (arrived_s < LONGEST_TRAVEL_S).all():
            break
    return arrived_s
