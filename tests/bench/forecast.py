"""How often a step takes what was forecast for it; prints one JSON object.

    python tests/bench/forecast.py --rigs 100 --seed 1 --json

Simulated rigs (`travels/population.toml`) under the firmware's own regulator, each forecast before
its batch from its label, its mass and its room alone. `inside` is the share of rigs whose minutes
lie in the 90 % band; `median_ratio` and `log_sd` are of minutes taken over those in the middle of
the band: what `LANDING` in `snapgloss.schedules.travel` stands for, and what doubt leaves.
"""

from __future__ import annotations

import argparse
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import type_of
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.schedules.model import ScheduleFile, Step
from snapgloss.schedules.outlook import StepOutlook, outlook
from travels import population
from travels.figures import TRAVELS
from travels.firm import Firmware
from travels.label import config_of
from travels.plant import Plant
from travels.refusal import refused
from travels.run import labels_of
from travels.scenarios import SCENARIOS
from travels.world import Group, World

PROCESSES = 2


class Seen(NamedTuple):
    """One rig: minutes taken by step, and the forecast; None where it refused."""

    taken_min: dict[str, float]
    forecast: list[StepOutlook] | None


def schedule_of(mass_g: int) -> ScheduleFile:
    """Return the bench's batch as the host holds one; its rates are faster than a maker's."""
    steps = tuple(
        Step.model_construct(
            kind=step.kind, target_mc=step.target_mc, hold_s=step.hold_s,
            rate_mc_per_min=step.rate_mc_per_min, wall_mc=step.wall_mc, seed_g=0,
        )
        for step in SCENARIOS["default"].steps
    )  # fmt: skip
    return ScheduleFile.model_construct(
        name="bench", chocolate="bench", type="dark", milk_fat_permille=None, method="cooled",
        start="solid", mass_g=mass_g, steps=steps,
    )  # fmt: skip


def described_rig(label) -> RigDescription:
    """Return the rig as its maker described it, for the host."""
    config = config_of(label)
    return BENCH_RIG.model_copy(update={
        "heater_w": config.heater_w, "plate_j_per_k": float(config.plate_j_per_k),
        "plate_w_per_k": float(config.plate_w_per_k),
        "loss_w_per_k": config.loss_mw_per_k / 1000.0,
        "fan_loss_w_per_k": config.fan_loss_mw_per_k / 1000.0,
        "probe_lag_s": config.probe_lag_ms / 1000.0,
    })  # fmt: skip


def run(job: tuple[int, int, int]) -> list[Seen]:
    """Run and forecast rigs `first` to `first + count - 1` of a seed."""
    seed, first, count = job
    file, scenario = population.read(), SCENARIOS["default"]
    rigs = file.draw(count, seed, first)
    rigs = rigs.take(~refused(rigs, scenario))
    labels = labels_of(rigs, "ssr", file)
    group = Group("ours_first", Firmware(labels), 1)
    no = World(Plant(rigs), scenario, [group], file.common, seed).run().no
    seen = []
    for at, label in enumerate(labels):
        taken_min = {
            step.kind: ((no[:, at] == which).sum() - step.hold_s) / 60.0
            for which, step in enumerate(scenario.steps)
            if step.kind in TRAVELS
        }
        seen.append(Seen(taken_min, _forecast(label, float(rigs.room_c[at]))))
    return seen


def _forecast(label, room_c: float) -> list[StepOutlook] | None:
    schedule = schedule_of(label.mass_g)
    try:
        return outlook(schedule, described_rig(label), room_c, type_of("dark")).steps
    except InputError:
        return None


def figures(seen: list[Seen]) -> dict:
    """Return coverage and ratios by step, over the rigs that were not refused."""
    told = [one for one in seen if one.forecast is not None]
    table = {}
    for kind in TRAVELS:
        pairs = [
            (one.taken_min[kind], next(row for row in one.forecast if row.kind == kind).reach_min)
            for one in told
        ]
        ratios = np.log([taken / band.middle for taken, band in pairs])
        table[kind] = {
            "inside": float(np.mean([band.low <= taken <= band.high for taken, band in pairs])),
            "under": float(np.mean([taken < band.low for taken, band in pairs])),
            "median_ratio": float(np.exp(np.median(ratios))),
            "log_sd": float(ratios.std()),
        }
    return {"rigs": len(seen), "refused_by_forecast": len(seen) - len(told), "steps": table}


def main() -> int:
    """Print the coverage."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    bounds = np.linspace(0, asked.rigs, PROCESSES + 1).astype(int)
    jobs = [(asked.seed, int(a), int(b - a)) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]
    with ProcessPoolExecutor(PROCESSES) as pool:
        seen = [one for part in pool.map(run, jobs) for one in part]
    result = {"seed": asked.seed, **figures(seen)}
    print(json.dumps(result) if asked.json else json.dumps(result, indent=2))
    return 0


if __name__ == "__main__":
    sys.exit(main())
