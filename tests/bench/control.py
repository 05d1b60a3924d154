"""How the regulator travels on rigs it has never seen, beside a thermostat and a tuned PI.

    python tests/bench/control.py --rigs 24 --seed 1 --json
    python tests/bench/control.py --rigs 200 --seed 1 --scenario pedal_untold --actuator relay

Simulated rigs (`travels/population.toml`), the firmware's own regulator and drive. Controllers:
`ours` (second run on each rig), `ours_first` (first run), `thermostat` (band of 0.5 degC), `pid`
(a PI by the SIMC rules on the true model). `--per-rig FILE` writes each rig's figures, `--plots
DIR` draws the best, the median and the worst rig. Between the two runs the host refines what
the rig has learned (`snapgloss.rigs.refine`), unless `--without-host`. Without `--json` a table
is printed.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from travels import population
from travels.figures import summary
from travels.run import CONTROLLERS, Job, Outcome, bench
from travels.scenarios import SCENARIOS
from travels.table import as_text


def main() -> int:
    """Run the bench as asked."""
    asked = _asked()
    began_s = time.monotonic()
    job = Job(
        asked.scenario, asked.actuator, asked.seed, 0, asked.rigs, asked.population,
        keep=asked.plots is not None, has_host=not asked.without_host,
    )  # fmt: skip
    outcome = bench(job, asked.processes)
    result = result_of(asked, outcome)
    print(json.dumps(result) if asked.json else as_text(result, outcome))
    print(f"{time.monotonic() - began_s:.1f} s", file=sys.stderr)
    if asked.per_rig:
        rows = [
            {"number": rig.number, "ideal_ripple_c": rig.ideal_ripple_c, **_plain(rig)}
            for rig in outcome.rigs
        ]
        asked.per_rig.write_text(json.dumps(rows), encoding="utf-8")
    if asked.plots:
        from travels.plots import draw  # matplotlib is slow to import

        draw(outcome, asked.plots, f"{asked.scenario}-{asked.actuator}")
    return 0


def result_of(asked: argparse.Namespace, outcome: Outcome) -> dict:
    """Return the figures of a run."""
    by_name = {
        name: summary([rig.figures[name] for rig in outcome.rigs]) if outcome.rigs else {}
        for name in CONTROLLERS
    }
    return {
        "rigs": asked.rigs,
        "seed": asked.seed,
        "actuator": asked.actuator,
        "refused": outcome.refused,
        "controllers": by_name,
    }


def _plain(rig) -> dict:
    by_name = {
        name: {**one._asdict(), "travels": {k: t._asdict() for k, t in one.travels.items()}}
        for name, one in rig.figures.items()
    }
    return {"number": rig.number, "ideal_ripple_c": rig.ideal_ripple_c, **by_name}


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scenario", choices=sorted(SCENARIOS), default="default")
    parser.add_argument("--population", type=Path, default=population.FILE)
    parser.add_argument("--actuator", choices=("ssr", "relay"), default="ssr")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--without-host", action="store_true")
    parser.add_argument("--per-rig", type=Path)
    parser.add_argument("--plots", type=Path)
    parser.add_argument("--json", action="store_true")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
