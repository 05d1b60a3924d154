"""What a relay's pulses do to bowl and plate whoever regulates, closed form over a population.

    python tests/bench/relay_limits.py --rigs 200 --seed 5

Even pulses of 10 s or more, 60 an hour at the most, as harmonics through the true rig at the
working temperature, all of the chocolate there and 15 % of it. No fan; nothing is regulated.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from travels import population
from travels.plant import Plant
from travels.population import Array, Rigs
from travels.refusal import refused
from travels.ripple import CYCLE_S, SHORTEST_S
from travels.run import WORK_C
from travels.scenarios import POURED_SHARE, SCENARIOS, SOFT_WALL_MC

HARMONICS = 60
NEAR_C = 0.3


def peaks_c(rigs: Rigs, at: int, heat_j_per_k: float) -> tuple[float, float]:
    """Return how far the bulk goes over its mean, and the plate over its limit (< 0: under)."""
    h, still = rigs.coupling_w_per_k[at], rigs.plate_loss_w_per_k[at]
    loss, over_c = rigs.product_loss_w_per_k[at], WORK_C - rigs.offset_c[at] - rigs.room_c[at]
    power_w = rigs.heater_w[at]
    duty = float(np.clip(over_c * (loss + still * (1.0 + loss / h)) / power_w, 1e-3, 0.999))
    period_s = max(CYCLE_S, SHORTEST_S / duty, SHORTEST_S / (1.0 - duty))
    k = np.arange(1, HARMONICS + 1)
    s = 2j * np.pi * k / period_s
    # Pulses from 0 to duty: their k-th coefficient, through the element's lag.
    in_w = power_w * (1.0 - np.exp(-2j * np.pi * k * duty)) / (1j * np.pi * k)
    in_w = in_w / (rigs.element_s[at] * s + 1.0)
    product = heat_j_per_k * s + h + loss
    whole = (rigs.plate_j_per_k[at] * s + h + still) * product - h * h
    turn = np.exp(2j * np.pi * np.outer(np.linspace(0.0, 1.0, 600), k))
    bulk_c, plate_c = (np.real(turn @ (in_w * one / whole)) for one in (h, product))
    room_c = (SOFT_WALL_MC / 1000.0 - WORK_C) - over_c * loss / h
    return float(bulk_c.max()), float(plate_c.max() - room_c)


def limits(count: int, seed: int) -> dict[str, Array]:
    """Return peaks of bulk and plate by how much chocolate is there; one row a rig."""
    drawn = population.read().draw(count, seed)
    rigs = drawn.take(~refused(drawn, SCENARIOS["default"]))
    heats = rigs.mass_kg * Plant(rigs).specific_j_per_kg_k
    return {
        name: np.array([peaks_c(rigs, at, part * heats[at]) for at in range(len(rigs))])
        for name, part in (("all", 1.0), ("15 %", 1.0 - POURED_SHARE))
    }


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=5)
    asked = parser.parse_args()
    for name, rows in limits(asked.rigs, asked.seed).items():
        bulk_c, wall_c = rows.T
        p50, p95 = np.percentile(bulk_c, [50, 95])
        print(
            f"{name:>4}: {len(rows)} rigs; bulk over its mean {p50:.3f}, p95 {p95:.3f}, most"
            f" {bulk_c.max():.3f} degC; over {NEAR_C}: {(bulk_c > NEAR_C).sum()}, over 0.1:"
            f" {(bulk_c > 0.1).sum()}; plate over its limit: {(wall_c > 0.0).sum()},"
            f" nearest {wall_c.max():+.2f}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
