"""How far what the host learns of a rig from its first batch is from the truth; prints JSON.

    python tests/bench/identify.py --rigs 24 --seed 1 --json

Simulated rigs (`travels/population.toml`) under the firmware's own regulator; the host is given
the log, the label's mass and watts, and the room. For each figure, over the rigs that are not
refused, in logarithms (0.1 is about 10 %): the median and the 90th percentile of the error's size,
its median with its sign, that of what was said of the rig before, the standard deviation told with
the figure, and the share of rigs whose error is within twice that. `rms_c` is of readings about
the fit. The truth has two lags of the probe and one of the element, which the host does not model.
"""

from __future__ import annotations

import argparse
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

sys.path.append(str(Path(__file__).parent))  # last: `control` there is a script

from travels import population
from travels.firm import Firmware
from travels.hostside import described_rig
from travels.identity import BATCH, Error, errors_of, fit_of, table_of, trace_of
from travels.refusal import refused
from travels.run import labels_of


class Job(NamedTuple):
    """Rigs `first` to `first + count - 1` of a seed."""

    seed: int
    first: int
    count: int


class Learned(NamedTuple):
    """One rig's errors, the dead time chosen and the rms of the readings about the fit."""

    errors: dict[str, Error]
    dead_s: int
    rms_c: float


def run(job: Job) -> list[Learned]:
    """Run some rigs and learn from their logs."""
    file = population.read()
    rigs = file.draw(job.count, job.seed, job.first)
    rigs = rigs.take(~refused(rigs, BATCH))
    labels = labels_of(rigs, "ssr", file)
    trace = trace_of(rigs, file, Firmware(labels), 1, job.seed)
    fits = [fit_of(trace, at, label, rigs) for at, label in enumerate(labels)]
    return [
        Learned(errors_of(fit, described_rig(labels[at]), rigs, at), fit.dead_s, fit.rms_c)
        for at, fit in enumerate(fits)
    ]


def result_of(seed: int, found: list[Learned]) -> dict[str, Any]:
    """Return the table."""
    rms_c = [one.rms_c for one in found]
    return {
        "seed": seed,
        "rigs": len(found),
        "learned": table_of([one.errors for one in found]),
        "rms_c": {"p50": round(float(np.median(rms_c)), 4), "max": round(max(rms_c), 4)},
        "dead_s_median": float(np.median([one.dead_s for one in found])),
    }


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    bounds = np.linspace(0, asked.rigs, asked.processes + 1).astype(int)
    jobs = [Job(asked.seed, int(a), int(b - a)) for a, b in pairwise(bounds)]
    with ProcessPoolExecutor(asked.processes) as pool:
        found = [one for part in pool.map(run, jobs) for one in part]
    print(json.dumps(result_of(asked.seed, found), indent=None if asked.json else 1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
