"""What a logged run teaches the host of a drawn rig, against that rig's truth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from snapgloss.rigs.description import RigDescription
from snapgloss.rigs.heat_model import FIGURES
from snapgloss.rigs.learn import Fit, learn
from travels.firm import Firmware
from travels.hostside import described_rig, log_of_lane
from travels.label import Label
from travels.plant import Plant
from travels.population import Array, Population, Rigs
from travels.scenarios import SCENARIOS
from travels.world import Group, Trace, World

BATCH = SCENARIOS["default"]


class Error(NamedTuple):
    """One figure of one rig, as logarithms: what was learned over the truth with its standard
    deviation, and what was said of it over the truth."""

    learned: float
    sd: float
    said: float


def trace_of(rigs: Rigs, file: Population, firmware: Firmware, run_no: int, seed: int) -> Trace:
    """Return the trace of a batch on these rigs under the firmware."""
    group = Group("ours", firmware, run_no)
    return World(Plant(rigs), BATCH, [group], file.common, seed).run()


def fit_of(trace: Trace, at: int, label: Label, rigs: Rigs) -> Fit:
    """Return what the host makes of one lane's log, told the room and the description."""
    columns = [getattr(trace, name)[:, at] for name in ("no", "reading_c", "heat", "fan")]
    log = log_of_lane(*columns, label.mass_g, float(rigs.room_c[at]))
    return learn(log, described_rig(label))


def errors_of(fit: Fit, said: RigDescription, rigs: Rigs, at: int) -> dict[str, Error]:
    """Return the error of every figure of one rig."""
    return {
        name: Error(
            float(np.log(fit.figures[name] / true[at])),
            fit.log_sd(name),
            float(np.log(getattr(said, name) / true[at])),
        )
        for name, true in _truth(rigs).items()
    }


def _truth(rigs: Rigs) -> dict[str, Array]:
    """The figures as the host has them: one loss, one lag of the probe."""
    truth = {
        "heater_w": rigs.heater_w,
        "plate_j_per_k": rigs.plate_j_per_k,
        "plate_w_per_k": rigs.coupling_w_per_k,
        "loss_w_per_k": rigs.plate_loss_w_per_k + rigs.product_loss_w_per_k,
        "fan_loss_w_per_k": rigs.fan_loss_w_per_k,
        "probe_lag_s": rigs.probe_s + rigs.second_probe_s,
    }
    return {name: truth[name] for name in FIGURES}


def table_of(errors: Sequence[dict[str, Error]]) -> dict[str, dict[str, float]]:
    """Return for each figure the sizes of its errors over rigs: 0.1 is about 10 %."""
    return {name: _row([one[name] for one in errors]) for name in FIGURES}


def _row(errors: list[Error]) -> dict[str, float]:
    learned = np.array([error.learned for error in errors])
    sds = np.array([error.sd for error in errors])
    return {
        "median": round(float(np.median(np.abs(learned))), 3),
        "p90": round(float(np.percentile(np.abs(learned), 90)), 3),
        "bias": round(float(np.median(learned)), 3),
        "said_median": round(float(np.median([abs(error.said) for error in errors])), 3),
        "sd_median": round(float(np.median(sds)), 3),
        "within_2_sd": round(float(np.mean(np.abs(learned) <= 2.0 * sds)), 3),
    }
