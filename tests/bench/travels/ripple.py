"""What a relay cannot help doing to the chocolate: the ripple of even pulses, closed form.

Pulses of power P, duty d, period T have the harmonics 2 P / (k pi) sin(k pi d); each goes through
the rig's own heat flow to the bulk. For a plain heat capacity C that is the triangle of height
P d (1 - d) T / C and of rms value height / sqrt(12).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from travels.population import Array, Rigs
from travels.scenarios import POUR_FROM_S, POUR_TO_S, POURED_SHARE

CYCLE_S = 60.0
SHORTEST_S = 10.0
HARMONICS = 40


def ripple_rms_c(power_w: float, duty: float, period_s: float,
                 response: Callable[[Array], Array]) -> float:  # fmt: skip
    """Return the rms of the ripple; `response(omega)` is |bulk / power| in K/W at rad/s."""
    k = np.arange(1, HARMONICS + 1)
    harmonics_w = 2.0 * power_w / (k * np.pi) * np.sin(k * np.pi * duty)
    swings_c = harmonics_w * response(2.0 * np.pi * k / period_s)
    return float(np.sqrt(np.sum(swings_c**2) / 2.0))


def response_of(rigs: Rigs, at: int, heat_j_per_k: float) -> Callable[[Array], Array]:
    """Return |bulk / power| of a rig: element, plate, chocolate of this heat capacity."""
    h, plate_j_per_k = rigs.coupling_w_per_k[at], rigs.plate_j_per_k[at]
    still, loss = rigs.plate_loss_w_per_k[at], rigs.product_loss_w_per_k[at]
    element_s = rigs.element_s[at]

    def response(omega: Array) -> Array:
        s = 1j * omega
        plate, product = plate_j_per_k * s + h + still, heat_j_per_k * s + h + loss
        return np.abs(h / (plate * product - h * h) / (element_s * s + 1.0))

    return response


def ideal_rms_c(rigs: Rigs, at: int, specific_j_per_kg_k: float, target_c: float) -> float:
    """Return the rms over an hour of work with pouring, 60 cycles an hour or as many as the
    shortest times allow, pulses exactly as long as the loss asks."""
    h, still, loss = (
        rigs.coupling_w_per_k[at], rigs.plate_loss_w_per_k[at], rigs.product_loss_w_per_k[at]
    )  # fmt: skip
    over_c, power_w = target_c - rigs.room_c[at], rigs.heater_w[at]
    duty = float(np.clip(over_c * (loss + still * (1.0 + loss / h)) / power_w, 1e-3, 1 - 1e-3))
    period_s = max(CYCLE_S, SHORTEST_S / duty, SHORTEST_S / (1.0 - duty))
    minutes_s = np.arange(0, 3600, 300)
    left = 1.0 - POURED_SHARE * np.clip(
        (minutes_s - POUR_FROM_S) / (POUR_TO_S - POUR_FROM_S), 0.0, 1.0
    )
    heats = left * rigs.mass_kg[at] * specific_j_per_kg_k
    each = [
        ripple_rms_c(power_w, duty, period_s, response_of(rigs, at, float(one))) for one in heats
    ]
    return float(np.sqrt(np.mean(np.square(each))))
