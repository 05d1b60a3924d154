"""How a rig's figures move from run to run: each as a line through its fits.

A figure is called moving where its line, over all runs, rises or falls by more than its own
uncertainty and by more than matters.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from snapgloss.rigs.heat_model import FIGURES
from snapgloss.rigs.learn import Fit

SURE_SD = 3.0
MATTERS_SHARE = 0.15
"""Less is dust or weather (own choice)."""
LEAST_RUNS = 3
WORDS = {
    ("heater_w", -1): "the heater gives less: a bad contact, or a part of it is dead",
    ("plate_w_per_k", -1): "less heat gets from the plate into the chocolate: the bowl sits "
    "badly, or stirs less",
    ("loss_w_per_k", 1): "more heat is lost in still air: a draught, or the lid is off",
    ("fan_loss_w_per_k", -1): "the fan takes less heat: clean it, it may be clogged",
    ("probe_lag_s", 1): "the probe follows more slowly: it may be crusted, or sit badly",
}
"""What it may mean, by figure and direction (common practice, no source)."""


class Drift(NamedTuple):
    """One figure over runs: `change` over all of them as a share (-0.3: 30 % less), its standard
    deviation, and what it may mean ("" where it does not move)."""

    name: str
    values: list[float]
    change: float
    change_sd: float
    words: str


def drifts(fits: Sequence[Fit]) -> list[Drift]:
    """Return the drift of every figure over fits in the order of their runs (one or more)."""
    return [_drift(name, fits) for name in FIGURES]


def _drift(name: str, fits: Sequence[Fit]) -> Drift:
    values = [fit.figures[name] for fit in fits]
    if len(fits) < LEAST_RUNS:
        return Drift(name, values, 0.0, float("inf"), "")
    at = np.linspace(0.0, 1.0, len(fits))
    weights = np.array([1.0 / fit.log_sd(name) ** 2 for fit in fits])
    design = np.column_stack([np.ones(len(at)), at])
    cov = np.linalg.inv(design.T @ (weights[:, None] * design))
    slope = float((cov @ (design.T @ (weights * np.log(values))))[1])
    sd = float(np.sqrt(cov[1, 1]))
    change = float(np.expm1(slope))
    moves = abs(slope) > SURE_SD * sd and abs(change) > MATTERS_SHARE
    return Drift(name, values, change, sd, _words(name, slope) if moves else "")


def _words(name: str, slope: float) -> str:
    return WORDS.get((name, 1 if slope > 0 else -1), "the rig was changed, or its description")
