"""The fault campaign: every hazard the firmware answers for, again and again, on the virtual rig.

    python tests/faults/campaign.py --runs 6000 --seed 1 --healthy 1000 --json
    python tests/faults/campaign.py --only 17            replay one faulty run
    python tests/faults/campaign.py --only-healthy 17    replay one healthy run
    python tests/faults/campaign.py --runs 8 --without witness
    python tests/faults/campaign.py --runs 300 --hazard probe_out

Simulated: the firmware itself on this Python, the simulated bowl. A faulty run settles for 60 s
and more, meets its fault, and ends 60 s after the bound; what must not begin is watched from the
boot on. A healthy run is one that the forecast accepts, with random handling in it, see
campaign_healthy.py. `--without` takes one check away; the runs that hang on it alone must then be
unsafe. A run in which somebody presses a doubt away is counted in a second row, too, from
that press on. Exit code 1 when a run was unsafe or a healthy batch was stopped.
"""

import argparse
import json
import os
import sys
import time
import tomllib
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

import campaign_checks
from campaign_cases import fault_case
from campaign_healthy import run_healthy
from campaign_table import INJECTIONS, OUT_PRESSED
from campaign_truth import NO_TIME, PRESSED_S
from campaign_world import FaultRun, Outcome

HAZARDS = Path(__file__).parents[2] / "protocol/rigwire/hazards.toml"


def hazards() -> list[dict[str, Any]]:
    """The rows of hazards.toml."""
    rows: list[dict[str, Any]] = tomllib.loads(HAZARDS.read_text(encoding="utf-8"))["hazard"]
    return rows


def bounds_s() -> dict[str, float]:
    """The bound of every hazard that the campaign meets, as hazards.toml states it."""
    return {row["key"]: float(row["bound_s"]) for row in hazards() if "bound_s" in row}


def run_fault(seed: int, without: str = "") -> Outcome:
    """One faulty run, with the one check `without` taken away."""
    with campaign_checks.removed(without):
        return FaultRun(fault_case(seed, bounds_s())).run()


def _figures_of(outcomes: list[Outcome]) -> dict[str, Any]:
    """A hazard's row. Times are None where only a temperature is the bound."""
    met = [one for one in outcomes if one.is_met]
    times = sorted(one.off_s for one in met)
    by_time = bool(times) and outcomes[0].row not in NO_TIME
    row = {
        "id": outcomes[0].row,
        "runs": len(met),
        "bound_s": max(one.bound_s for one in met) if by_time else None,
        "worst_s": times[-1] if by_time else None,
        "p99_s": times[max(0, -(-99 * len(times) // 100) - 1)] if by_time else None,
        "unsafe": sum(1 for one in met if one.unsafe),
    }
    if met and met[0].bound_k is not None:
        row |= {"bound_k": met[0].bound_k, "worst_k": round(max(one.worst_k for one in met), 2)}
    return row


def _pressed(outcomes: list[Outcome]) -> list[Outcome]:
    """Runs in which somebody pressed that all is well with a probe that is out, from there on."""
    return [
        one._replace(row=OUT_PRESSED, bound_s=PRESSED_S, off_s=round(one.pressed_s, 2))
        for one in outcomes
        if one.pressed_s is not None and one.row not in NO_TIME
    ]


def summary(outcomes: list[Outcome], healthy: Iterable[tuple[int, list[str], str]]) -> Any:
    """The figures of the campaign."""
    healthy = list(healthy)
    rows = [*outcomes, *_pressed(outcomes)]
    names = sorted({one.row for one in rows})
    failed = [row for row in healthy if row[1]]
    return {
        "simulated": True,
        "runs": sum(1 for one in outcomes if one.is_met),
        "looks": sum(one.looks for one in outcomes),
        "not_met": [one.seed for one in outcomes if not one.is_met][:20],
        "unsafe": sum(1 for one in outcomes if one.is_met and one.unsafe),
        "healthy_runs": len(healthy),
        "false_trips": len(failed),
        "hazards": [_figures_of([o for o in rows if o.row == name]) for name in names],
        "unsafe_seeds": {one.seed: f"{one.row}: {one.unsafe}" for one in outcomes if one.unsafe},
        "false_trip_seeds": {seed: [*failures, stop] for seed, failures, stop in failed},
    }


def seeds_of(runs: int, seed: int, without: str = "", hazard: str = "") -> list[int]:
    """The seeds of the faulty runs; with a check taken away those that hang on it alone, with a
    hazard those that meet it."""
    first, count = seed * 100_000, len(INJECTIONS)
    kept = [
        injection.alone == (without or injection.alone)
        and injection.hazard == (hazard or injection.hazard)
        for injection in INJECTIONS
    ]
    every = range(first, first + runs * count)
    return [one for one in every if kept[one % count]][:runs]


def campaign(
    runs: int, seed: int, healthy: int, without: str = "", hazard: str = "", workers: int = 0
) -> Any:
    """Run all on `workers` processes (0 = one a processor, 1 = in this one)."""
    rest = range(seed * 100_000, seed * 100_000 + healthy)
    run, seeds = partial(run_fault, without=without), seeds_of(runs, seed, without, hazard)
    if workers == 1:
        return summary([run(one) for one in seeds], [run_healthy(one) for one in rest])
    with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
        outcomes = list(pool.map(run, seeds, chunksize=4))
        return summary(outcomes, pool.map(run_healthy, rest, chunksize=1))


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--runs", type=int, default=6000)
    known.add_argument("--seed", type=int, default=1)
    known.add_argument("--healthy", type=int, default=0)
    known.add_argument(
        "--without", default="", choices=sorted(campaign_checks.CHECKS),
        help="take this one check away",
    )  # fmt: skip
    known.add_argument(
        "--hazard", default="", choices=sorted({one.hazard for one in INJECTIONS}),
        help="meet this hazard only",
    )  # fmt: skip
    known.add_argument("--only", type=int, help="replay one faulty run")
    known.add_argument("--only-healthy", type=int, help="replay one healthy run")
    known.add_argument("--workers", type=int, default=0)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    if chosen.runs < 0 or chosen.healthy < 0 or chosen.runs + chosen.healthy == 0:
        known.error("nothing to run: give --runs or --healthy")
    if chosen.only is not None:
        print(fault_case(chosen.only, bounds_s()).words())
        print(run_fault(chosen.only, chosen.without))
        return 0
    if chosen.only_healthy is not None:
        print(run_healthy(chosen.only_healthy, show=True))
        return 0
    begun_s = time.monotonic()
    figures = campaign(
        chosen.runs, chosen.seed, chosen.healthy, chosen.without, chosen.hazard, chosen.workers
    )
    figures["wall_s"] = round(time.monotonic() - begun_s, 1)
    print(json.dumps(figures) if chosen.json else json.dumps(figures, indent=1))
    return 1 if figures["unsafe"] or figures["false_trips"] or figures["not_met"] else 0


if __name__ == "__main__":
    sys.exit(main())
