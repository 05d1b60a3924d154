"""Cost of one 0.25 s step of the simulated bowl; prints one JSON object.

    python tests/bench/plant.py

`step_us` is the worst of the phases, each the best of five rounds; the bound is 25 us. The bound
is judged on the machine it runs on.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time

from snapgloss.virtual.plant import Drive, Plant, PlantSetup
from snapgloss.virtual.sensors import reading_mc

BOUND_US = 25.0
STEPS = 20_000


def step_us(setup: PlantSetup, drive: Drive) -> float:
    """Microseconds per step, best of five rounds from the same start."""
    best = float("inf")
    for _ in range(5):
        plant = Plant(setup)
        began = time.perf_counter()
        for _ in range(STEPS):
            plant.advance(0.25, drive)
        best = min(best, time.perf_counter() - began)
    return best / STEPS * 1e6


def reading_us() -> float:
    """Microseconds per probe reading."""
    began = time.perf_counter()
    for i in range(STEPS):
        reading_mc(31.5, 1, 0, i * 250)
    return (time.perf_counter() - began) / STEPS * 1e6


def import_ms() -> float:
    """Milliseconds from nothing to an importable plant, less those of a bare interpreter."""

    def run_ms(code: str) -> float:
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        return (time.perf_counter() - began) * 1e3

    bare = min(run_ms("pass") for _ in range(5))
    return min(run_ms("import snapgloss.virtual.plant") for _ in range(5)) - bare


def main() -> int:
    """Print the figures; 1 when the bound is missed."""
    phases = {
        "melting": (PlantSetup(), Drive(0.9, 0.0, 0.5)),
        "hot": (PlantSetup(solid=False, start_c=48.0), Drive(0.3, 0.0, 1.0)),
        "cooling": (PlantSetup(solid=False, start_c=30.0), Drive(0.0, 1.0, 1.0)),
        "working": (PlantSetup(solid=False, start_c=31.5, start_v=0.02), Drive(0.1, 0.0, 1.0)),
    }
    figures = {name: round(step_us(*phase), 2) for name, phase in phases.items()}
    worst = max(figures.values())
    print(
        json.dumps(
            {
                "step_us": worst,
                "bound_us": BOUND_US,
                "phases_us": figures,
                "reading_us": round(reading_us(), 2),
                "import_ms": round(import_ms(), 1),
            }
        )
    )
    return 0 if worst <= BOUND_US else 1


if __name__ == "__main__":
    sys.exit(main())
