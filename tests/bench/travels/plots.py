"""The best, the median and the worst rig of a run, by ours' largest overshoot. Simulated."""

from __future__ import annotations

from pathlib import Path

import matplotlib as mpl

mpl.use("Agg")
import numpy as np
from matplotlib import pyplot as plt

from travels.figures import NEAR_C, Figures
from travels.run import CONTROLLERS, WORK_C, Outcome, Rig
from travels.scenarios import SOFT_WALL_MC

COLOURS = {"ours": "#0b6", "ours_first": "#06c", "thermostat": "#c33", "pid": "#b80"}
WORDS = {
    "ours": "ours, second run", "ours_first": "ours, first run",
    "thermostat": "thermostat", "pid": "PI by SIMC",
}  # fmt: skip


def draw(outcome: Outcome, folder: Path, name: str) -> list[Path]:
    """Write one picture for each of the three rigs; return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    ordered = sorted(outcome.rigs, key=lambda rig: _worst(rig.figures["ours"]))
    chosen = {"best": ordered[0], "median": ordered[len(ordered) // 2], "worst": ordered[-1]}
    return [_picture(rig, folder / f"{name}-{which}.png", which) for which, rig in chosen.items()]


def _worst(figures: Figures) -> float:
    return max(travel.overshoot_c for travel in figures.travels.values())


def _picture(rig: Rig, path: Path, which: str) -> Path:
    """Whole batch above; the truth about the target below, with the plate's wall in rewarm."""
    figure, axes = plt.subplots(3, 1, figsize=(11, 11), constrained_layout=True)
    for name in reversed(CONTROLLERS):
        trace = rig.traces[name]
        minutes = np.arange(len(trace["no"])) / 60.0
        axes[0].plot(minutes, trace["product_c"], color=COLOURS[name], lw=1, label=WORDS[name])
        _from_step(axes[1], trace, "product_c", name)
    _from_step(axes[2], rig.traces["ours"], "plate_c", "ours", "plate")
    _from_step(axes[2], rig.traces["ours"], "product_c", "ours_first", "chocolate")
    target_c, wall_c = WORK_C - rig.offset_c, SOFT_WALL_MC / 1000.0 - rig.offset_c
    axes[1].axhspan(target_c - NEAR_C, target_c + NEAR_C, color="#999", alpha=0.2, lw=0)
    axes[1].axhline(target_c, color="#333", lw=0.8, ls="--", label="target on this probe's scale")
    axes[2].axhline(wall_c, color="#c33", lw=0.8, ls="--", label="the wall's limit")
    axes[2].axhline(target_c, color="#333", lw=0.8, ls="--")
    title = f"Rig {rig.number}, {which} by the largest overshoot; simulated"
    axes[0].set(xlabel="min", ylabel="chocolate, °C", title=title)
    axes[1].set(xlabel="min of the rewarm and the work", ylabel="chocolate, °C", ylim=(27, 34))
    axes[2].set(xlabel="min of the rewarm and the work, ours", ylabel="°C", ylim=(26, 35))
    for each in axes:
        each.legend(loc="lower right", frameon=False)
        each.grid(alpha=0.3)
    figure.savefig(path, dpi=80)
    plt.close(figure)
    return path


def _from_step(axis, trace: dict[str, np.ndarray], what: str, name: str, label: str = "") -> None:
    """Draw from the step before the last (the rewarm) on."""
    rows = np.flatnonzero(trace["no"] >= trace["no"].max() - 1)
    axis.plot(
        np.arange(len(rows)) / 60.0, trace[what][rows], color=COLOURS[name], lw=1, label=label
    )
