"""What a wall that is never over its limit costs in time: the rewarm's trade-off, measured.

    python tests/bench/wall_curve.py --rigs 24 --seed 1 --sigmas 0 1 2 3 --plot curve.png

The plate has no probe, so the regulator keeps it below its limit by some sigmas of what it does
not know of the plate. For each number of sigmas: how often and how far the wall is over its limit
on the second run, and what the rewarm takes against the bound, over all and by class of probe lag.
Without the host's fit. `--plot FILE` draws it. Simulated rigs (`travels/population.toml`).
"""

from __future__ import annotations

import argparse
import json
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from rigfw import landing
from travels import population
from travels.figures import figures_of, ratio
from travels.firm import Firmware
from travels.plant import Plant
from travels.refusal import refused
from travels.run import _lanes, labels_of
from travels.scenarios import SCENARIOS
from travels.world import Group, World

CLASSES_S = (0.0, 15.0, 28.0, 60.0)
"""Bounds of the classes of both lags of the probe together."""


def main() -> int:
    """Print the curve."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rigs", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sigmas", type=float, nargs="+", default=[0.0, 1.0, 2.0, 3.0])
    parser.add_argument("--plot", type=Path)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    rows = curve(asked.rigs, asked.seed, asked.sigmas)
    print(json.dumps(rows) if asked.json else "\n".join(_line(row) for row in rows))
    if asked.plot:
        _draw(rows, asked.plot)
    return 0


def curve(count: int, seed: int, sigmas: list[float]) -> list[dict]:
    """Return a row for each class of lag at each number of sigmas, all rigs first."""
    file, scenario = population.read(), SCENARIOS["default"]
    rigs = file.draw(count, seed)
    rigs = rigs.take(~refused(rigs, scenario))
    plant, labels = Plant(rigs), labels_of(rigs, "ssr", file)
    first = Firmware(labels)
    World(plant, scenario, [Group("first", first, 1)], file.common, seed).run()
    lag_s = rigs.probe_s + rigs.second_probe_s
    rows = []
    for sigma in sigmas:
        landing.WALL_SIGMAS = sigma
        again = Group("ours", Firmware(labels, first.learned()), 2)
        lanes = _lanes(World(plant, scenario, [again], file.common, seed), file)
        found = [figures_of(lanes["ours", at][0]) for at in range(len(rigs))]
        rows += _rows(sigma, found, lag_s)
    return rows


def _rows(sigma: float, found: list, lag_s: np.ndarray) -> list[dict]:
    bounds = [(CLASSES_S[0], CLASSES_S[-1]), *pairwise(CLASSES_S)]
    rows = []
    for low_s, high_s in bounds:
        chosen = [found[at] for at in np.flatnonzero((lag_s >= low_s) & (lag_s < high_s))]
        if not chosen:
            continue
        over_c = np.array([one.wall_over_c for one in chosen])
        times = [ratio(one.travels["rewarm"]) for one in chosen]
        past_c = [one.travels["rewarm"].overshoot_c for one in chosen]
        rows.append({
            "sigmas": sigma, "lag_s": [low_s, high_s], "rigs": len(chosen),
            "wall_over_share": round(float((over_c > 0.0).mean()), 3),
            "wall_over_max_c": round(float(over_c.max()), 2),
            "time_ratio": [round(float(np.percentile(times, at)), 2) for at in (50, 95)],
            "overshoot_p95_c": round(float(np.percentile(past_c, 95)), 3),
        })  # fmt: skip
    return rows


def _draw(rows: list[dict], path: Path) -> None:
    """Draw time against the wall's excess and against the way past, a line for each class."""
    import matplotlib as mpl  # slow to import

    mpl.use("Agg")
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(11, 4.8), constrained_layout=True)
    for lag_s in dict.fromkeys(tuple(row["lag_s"]) for row in rows):
        chosen = [row for row in rows if tuple(row["lag_s"]) == lag_s]
        is_all = lag_s == (CLASSES_S[0], CLASSES_S[-1])
        label = "all rigs" if is_all else f"probe {lag_s[0]:.0f} to {lag_s[1]:.0f} s"
        label += f" ({chosen[0]['rigs']})"
        times = [row["time_ratio"][0] for row in chosen]
        for axis, name in zip(axes, ("wall_over_max_c", "overshoot_p95_c"), strict=True):
            axis.plot(times, [row[name] for row in chosen], "o-", lw=2 if is_all else 1,
                      color="#222" if is_all else None, label=label)  # fmt: skip
    for row in rows:
        if tuple(row["lag_s"]) == (CLASSES_S[0], CLASSES_S[-1]):
            at = (row["time_ratio"][0], row["wall_over_max_c"])
            axes[0].annotate(f"{row['sigmas']:g} sigmas", at, xytext=(6, 6),
                             textcoords="offset points")  # fmt: skip
    axes[0].axhline(0.0, color="#c33", lw=0.8, ls="--")
    axes[0].set(ylabel="greatest excess of a wall over its limit, °C")
    axes[1].set(ylabel="chocolate past its target, 95th percentile, °C", ylim=(0.0, None))
    for axis in axes:
        axis.set(xlabel="time of the rewarm over the bound, median")
        axis.grid(alpha=0.3)
    axes[1].legend(frameon=False)
    figure.suptitle("What the wall's margin costs; simulated, second run without the host")
    figure.savefig(path, dpi=90)
    plt.close(figure)


def _line(row: dict) -> str:
    low_s, high_s = row["lag_s"]
    p50, p95 = row["time_ratio"]
    return (
        f"{row['sigmas']:.1f} sigmas, probe {low_s:2.0f} to {high_s:2.0f} s ({row['rigs']:3d}): "
        f"wall over on {row['wall_over_share']:.3f}, most {row['wall_over_max_c']:+.2f} degC; "
        f"rewarm x{p50:.2f}/{p95:.2f}, past {row['overshoot_p95_c']:.3f} degC"
    )


if __name__ == "__main__":
    sys.exit(main())
