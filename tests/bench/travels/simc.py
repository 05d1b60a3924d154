"""PI tuning by the SIMC rules: S. Skogestad, "Simple analytic rules for model reduction and PID
controller tuning", J. Process Control 13 (2003) 291-309.

Model: gain / ((tau_1 s + 1) (tau_2 s + 1) ...) e^(-theta s). The half rule makes it one lag and a
delay: half of the second lag goes to the first, the other half and all further lags to the delay.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from travels.plant import Plant
from travels.population import Array


class FirstOrder(NamedTuple):
    """gain (K/W), lag and delay (s)."""

    gain: float
    lag_s: float
    delay_s: float


class Tuning(NamedTuple):
    """Gain in W/K, integral time in s."""

    gain: float
    integral_s: float


def half_rule(gain: float, lags_s: list[float], delay_s: float) -> FirstOrder:
    """Return the reduced model of a chain of lags."""
    first, second, *rest = [*sorted(lags_s, reverse=True), 0.0, 0.0]
    return FirstOrder(gain, first + second / 2.0, delay_s + second / 2.0 + sum(rest))


def simc_pi(model: FirstOrder) -> Tuning:
    """Return the PI settings for tight control: closed-loop time constant = delay."""
    closed_s = model.delay_s
    gain = model.lag_s / (model.gain * (closed_s + model.delay_s))
    return Tuning(gain, min(model.lag_s, 4.0 * (closed_s + model.delay_s)))


def model_of(plant: Plant, lane: int, delay_s: float) -> FirstOrder:
    """Return the reduced model of a lane's true figures, heater to reading, liquid chocolate."""
    rigs = plant.rigs
    plate, h = rigs.plate_j_per_k[lane], rigs.coupling_w_per_k[lane]
    still, loss = rigs.plate_loss_w_per_k[lane], rigs.product_loss_w_per_k[lane]
    product = rigs.mass_kg[lane] * plant.specific_j_per_kg_k[lane]
    states: Array = np.array(
        [[-(h + still) / plate, h / plate], [h / product, -(h + loss) / product]]
    )
    thermal_s = -1.0 / np.linalg.eigvals(states).real
    gain = h / ((h + still) * (h + loss) - h * h)
    lags_s = [*thermal_s, rigs.element_s[lane], rigs.probe_s[lane], rigs.second_probe_s[lane]]
    return half_rule(float(gain), [float(one) for one in lags_s], delay_s)
