"""How often a step takes what was forecast for it; prints one JSON object.

    python tests/bench/forecast.py --rigs 100 --seed 1 --json
    python tests/bench/forecast.py --rigs 24 --seed 1 --learned --json

Simulated rigs (`travels/population.toml`) under the firmware's own regulator, each forecast before
its batch from label, mass and room alone; with `--learned` from what the host learned of its first
run, and then the second is judged. `inside` is the share of rigs whose minutes lie in the 90 %
band; `median_ratio` and `log_sd` are of minutes taken over those in the middle of the band: what
`LANDING` in `snapgloss.schedules.travel` stands for, and what doubt leaves. `learned` has for each
figure the median and the 90th percentile of its error's size (0.1 is 10 %), and the share of rigs
whose error is within twice its standard deviation.
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

sys.path.insert(0, str(Path(__file__).parent))

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import type_of
from snapgloss.rigs.description import RigDescription
from snapgloss.rigs.learn import learned_rig
from snapgloss.schedules.doubt import described, known
from snapgloss.schedules.outlook import StepOutlook, outlook
from travels import population
from travels.figures import TRAVELS
from travels.firm import Firmware
from travels.hostside import described_rig, schedule_of
from travels.identity import BATCH, Error, errors_of, fit_of, table_of, trace_of
from travels.label import Label
from travels.plant import BEGIN_C
from travels.refusal import refused
from travels.run import labels_of
from travels.world import Trace


class Seen(NamedTuple):
    """One rig: minutes taken by step; the forecast, None where it refused; each figure's error as
    a logarithm with its standard deviation, where the run was learned from."""

    taken_min: dict[str, float]
    forecast: list[StepOutlook] | None
    errors: dict[str, Error]


class Job(NamedTuple):
    """Rigs `first` to `first + count - 1` of a seed."""

    seed: int
    first: int
    count: int
    learns: bool


def run(job: Job) -> list[Seen]:
    """Run and forecast some rigs."""
    file = population.read()
    rigs = file.draw(job.count, job.seed, job.first)
    rigs = rigs.take(~refused(rigs, BATCH))
    labels = labels_of(rigs, "ssr", file)
    firmware = Firmware(labels)
    trace = trace_of(rigs, file, firmware, 1, job.seed)
    said = [described_rig(one) for one in labels]
    errors: list[dict] = [{} for _ in labels]
    if job.learns:
        fits = [fit_of(trace, at, label, rigs) for at, label in enumerate(labels)]
        errors = [errors_of(fit, said[at], rigs, at) for at, fit in enumerate(fits)]
        said = [learned_rig(rig, fit) for rig, fit in zip(said, fits, strict=True)]
        trace = trace_of(rigs, file, Firmware(labels, firmware.learned()), 2, job.seed)
    return [
        Seen(_taken_min(trace, at), _forecast(label, said[at], float(rigs.room_c[at])), errors[at])
        for at, label in enumerate(labels)
    ]


def _taken_min(trace: Trace, at: int) -> dict[str, float]:
    return {
        step.kind: ((trace.no[:, at] == which).sum() - step.hold_s) / 60.0
        for which, step in enumerate(BATCH.steps)
        if step.kind in TRAVELS
    }


def _forecast(label: Label, rig: RigDescription, room_c: float) -> list[StepOutlook] | None:
    """As `snapgloss forecast` makes it of a rig's file."""
    kind = type_of("dark")
    percent = {str(name): value for name, value in rig.known_percent.items()}
    doubt = known(percent) if percent else described()
    try:
        return outlook(schedule_of(label.mass_g), rig, room_c, kind, doubt, BEGIN_C).steps
    except InputError:
        return None


def figures(seen: list[Seen]) -> dict[str, Any]:
    """Return coverage and ratios by step, over the rigs that were not refused."""
    told = [one for one in seen if one.forecast is not None]
    steps = {kind: _of_step(told, kind) for kind in TRAVELS}
    table = table_of([one.errors for one in seen]) if seen[0].errors else {}
    refusals = len(seen) - len(told)
    return {"rigs": len(seen), "refused": refusals, "steps": steps, "learned": table}


def _of_step(told: list[Seen], kind: str) -> dict[str, float]:
    pairs = [
        (
            one.taken_min[kind],
            next(row for row in one.forecast or [] if row.kind == kind).reach_min,
        )
        for one in told
    ]
    ratios = np.log([taken / band.middle for taken, band in pairs])
    return {
        "inside": float(np.mean([band.low <= taken <= band.high for taken, band in pairs])),
        "under": float(np.mean([taken < band.low for taken, band in pairs])),
        "median_ratio": round(float(np.exp(np.median(ratios))), 3),
        "log_sd": round(float(ratios.std()), 3),
    }


def main() -> int:
    """Print the coverage."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--learned", action="store_true")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    bounds = np.linspace(0, asked.rigs, asked.processes + 1).astype(int)
    jobs = [Job(asked.seed, int(a), int(b - a), asked.learned) for a, b in pairwise(bounds)]
    with ProcessPoolExecutor(asked.processes) as pool:
        seen = [one for part in pool.map(run, jobs) for one in part]
    result = {"seed": asked.seed, **figures(seen)}
    print(json.dumps(result, indent=None if asked.json else 1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
