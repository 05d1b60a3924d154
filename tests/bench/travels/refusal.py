"""Which rigs cannot do the batch at all, from the true plant: in the forecast's place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from travels.plant import Plant
from travels.population import Rigs
from travels.scenarios import Scenario

COOL_WITHIN_S = 90 * 60.0
"""A low point that takes longer is refused: the last degrees would never come (own choice)."""
MARGIN = 0.9
"""Of the heater's power, for mains and a colder room."""
OFFSET_C = 0.5
"""The probe may be off by this, so that much colder or hotter must be reached."""


def refused(rigs: Rigs, scenario: Scenario) -> NDArray[np.bool_]:
    """Return True for rigs that can not reach a target of the scenario, or not in time.

    A steady state with full heat and the plate at its limit must lie above every warm target; with
    full fan the fall to the low point, at the lumped rate of chocolate and plate, must end within
    `COOL_WITHIN_S`.
    """
    bad = np.zeros(len(rigs), dtype=bool)
    from_c = np.full(len(rigs), np.nan)
    for step in scenario.steps:
        target_c = step.target_mc / 1000.0
        moved_c = 0.0 if step.kind == "melt" else scenario.room_moves_c * np.sign(rigs.room_step_c)
        if step.kind == "cool":
            bad |= _cool_s(rigs, from_c, target_c, moved_c) > COOL_WITHIN_S
        elif step.kind != "seed":  # reached from above, and kept for minutes only
            highest_c = step.creep_to_mc / 1000.0 + OFFSET_C
            bad |= warmest_c(rigs, step.wall_mc / 1000.0, moved_c) < highest_c
        from_c = np.full(len(rigs), target_c)
    return bad


def warmest_c(rigs: Rigs, wall_c: float, room_moves_c: float = 0.0):
    """Return where the chocolate settles under full heat with the plate at most at its limit."""
    h, still, loss = rigs.coupling_w_per_k, rigs.plate_loss_w_per_k, rigs.product_loss_w_per_k
    room_c = rigs.room_c + room_moves_c
    onward = h * loss / (h + loss)
    plate_c = np.minimum(wall_c, room_c + MARGIN * rigs.heater_w / (still + onward))
    return room_c + (plate_c - room_c) * h / (h + loss)


def _cool_s(rigs: Rigs, from_c, to_c: float, room_moves_c: float):
    h, loss = rigs.coupling_w_per_k, rigs.product_loss_w_per_k
    fanned = rigs.plate_loss_w_per_k + rigs.fan_loss_w_per_k
    whole = loss + h * fanned / (h + fanned)
    held = rigs.mass_kg * Plant(rigs).specific_j_per_kg_k + rigs.plate_j_per_k
    room_c = rigs.room_c + room_moves_c
    left = (to_c - OFFSET_C - room_c) / (from_c - room_c)
    return np.where(left > 0.0, -np.log(np.maximum(left, 1e-9)), np.inf) * held / whole
