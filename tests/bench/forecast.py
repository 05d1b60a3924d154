"""How often a step takes what was forecast for it; prints one JSON object.

    python tests/bench/forecast.py --rigs 100 --seed 1 --json
    python tests/bench/forecast.py --rigs 24 --seed 1 --learned --json
    python tests/bench/forecast.py --rigs 100 --seed 900 --landing --json

Simulated rigs (`travels/population.toml`) under the firmware's own regulator, each forecast
before its batch from label, mass and room alone; with `--learned` from the file that the host
writes of what it learned of the first run, and then the second is judged. `inside` is the share
of rigs whose minutes lie in the 90 % band, `under` of those that were sooner; `median_ratio` and
`log_sd` are of minutes taken over those in the middle of the band. `learned` is the table of
`identify.py`.
`impossible` counts the rigs that truly cannot do the batch (`travels/refusal.py`);
`refused_wrongly` and `missed` how often the forecast said no to one that can, or nothing of one
that cannot.

With `--landing` the forecast knows every figure of the rig: what is left between its minutes and
those taken is `LANDING` in `snapgloss.schedules.travel`. Set it with seeds of its own, never with
those that a coverage is reported for.
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
from snapgloss.schedules.travel import Bowls
from travels import population
from travels.figures import TRAVELS
from travels.firm import Firmware
from travels.hostside import described_rig, samples_of, schedule_of
from travels.identity import BATCH, Error, errors_of, fit_of, table_of, trace_of
from travels.label import Label
from travels.plant import BEGIN_C
from travels.population import Rigs
from travels.refusal import refused
from travels.run import labels_of
from travels.world import Trace


class Seen(NamedTuple):
    """One rig: minutes taken by step (none where it cannot do the batch); the forecast, None where
    it refused; each figure's error, where the run was learned from."""

    taken_min: dict[str, float]
    forecast: list[StepOutlook] | None
    is_possible: bool
    errors: dict[str, Error]


class Job(NamedTuple):
    """Rigs `first` to `first + count - 1` of a seed."""

    seed: int
    first: int
    count: int
    learns: bool


def run(job: Job) -> list[Seen]:
    """Run and forecast some rigs; those that cannot do the batch are forecast only."""
    file = population.read()
    drawn = file.draw(job.count, job.seed, job.first)
    bad = refused(drawn, BATCH)
    never = zip(labels_of(drawn.take(bad), "ssr", file), drawn.room_c[bad], strict=True)
    hopeless = [
        Seen({}, _forecast(label, described_rig(label), float(room_c)), False, {})
        for label, room_c in never
    ]
    rigs = drawn.take(~bad)
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
    forecasts = [
        _forecast(label, said[at], float(rigs.room_c[at])) for at, label in enumerate(labels)
    ]
    return hopeless + [
        Seen(_taken_min(trace, at), forecasts[at], True, errors[at]) for at in range(len(labels))
    ]


def landing(job: Job) -> list[dict[str, float]]:
    """Return for each rig, by step, the minutes taken over those of the rig whose figures are
    known, in both of its runs."""
    file = population.read()
    rigs = file.draw(job.count, job.seed, job.first)
    rigs = rigs.take(~refused(rigs, BATCH))
    labels = labels_of(rigs, "ssr", file)
    firmware = Firmware(labels)
    first = trace_of(rigs, file, firmware, 1, job.seed)
    second = trace_of(rigs, file, Firmware(labels, firmware.learned()), 2, job.seed)
    found = []
    for at, label in enumerate(labels):
        known_min = _known_min(label, rigs, at)
        for trace in (first, second):
            taken_min = _taken_min(trace, at)
            found.append({kind: taken_min[kind] / known_min[kind] for kind in TRAVELS})
    return found


def _known_min(label: Label, rigs: Rigs, at: int) -> dict[str, float]:
    """Minutes of the very bowl that is there, as `travel` has it without its landing."""
    samples = samples_of(label, rigs, at)
    bowls, minutes = Bowls(samples, BEGIN_C, solid=True), {}
    bowls.lands = False
    for step in schedule_of(label.mass_g).steps:
        minutes[step.kind] = float(bowls.leg(step, 0.0, 1).reach_min[0])
    return minutes


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
    told = [one for one in seen if one.forecast is not None and one.is_possible]
    can = [one for one in seen if one.is_possible]
    cannot = [one for one in seen if not one.is_possible]
    return {
        "rigs": len(seen),
        "refused": sum(one.forecast is None for one in seen),
        "impossible": len(cannot),
        "refused_wrongly": len(can) - len(told),
        "missed": sum(one.forecast is not None for one in cannot),
        "steps": {kind: _of_step(told, kind) for kind in TRAVELS},
        "learned": table_of([one.errors for one in can]) if can[0].errors else {},
    }


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


def landing_table(ratios: list[dict[str, float]]) -> dict[str, dict[str, float]]:
    """Return what `LANDING` is set by: median, and deviation by 5th and 95th percentile."""
    table = {}
    for kind in TRAVELS:
        logs = np.log([one[kind] for one in ratios if np.isfinite(one[kind])])
        low, middle, high = np.percentile(logs, (5, 50, 95))
        table[kind] = {
            "median": round(float(np.exp(middle)), 3),
            "log_sd": round(float(high - low) / 3.29, 3),
            "p05": round(float(np.exp(low)), 3),
            "p95": round(float(np.exp(high)), 3),
        }
    return table


def main() -> int:
    """Print the coverage."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--learned", action="store_true")
    parser.add_argument("--landing", action="store_true")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    bounds = np.linspace(0, asked.rigs, asked.processes + 1).astype(int)
    jobs = [Job(asked.seed, int(a), int(b - a), asked.learned) for a, b in pairwise(bounds)]
    with ProcessPoolExecutor(asked.processes) as pool:
        parts = list(pool.map(landing if asked.landing else run, jobs))
    found = [one for part in parts for one in part]
    result = {"landing": landing_table(found)} if asked.landing else figures(found)
    print(json.dumps({"seed": asked.seed, **result}, indent=None if asked.json else 1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
