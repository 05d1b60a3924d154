"""What the host is given of a drawn rig: the maker's description, a schedule, a logged run."""

from __future__ import annotations

import numpy as np

from snapgloss.chocolate.types import type_of
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.rigs.heat_model import Log
from snapgloss.rigs.learn_log import LIQUID_C, SETS_BELOW_C
from snapgloss.schedules.model import ScheduleFile, Step
from travels.label import Label, config_of
from travels.population import Array
from travels.scenarios import SCENARIOS


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
        start="solid", mass_g=mass_g, steps=steps, ceiling_mc=50_000,
    )  # fmt: skip


def described_rig(label: Label) -> RigDescription:
    """Return the rig as its maker described it, for the host."""
    config = config_of(label)
    return BENCH_RIG.model_copy(update={
        "heater_w": config.heater_w, "plate_j_per_k": float(config.plate_j_per_k),
        "plate_w_per_k": float(config.plate_w_per_k),
        "loss_w_per_k": config.loss_mw_per_k / 1000.0,
        "fan_loss_w_per_k": config.fan_loss_mw_per_k / 1000.0,
        "probe_lag_s": config.probe_lag_ms / 1000.0,
    })  # fmt: skip


def log_of_lane(no: Array, reading_c: Array, heat: Array, fan: Array, mass_g: int,
                room_c: float) -> Log:  # fmt: skip
    """Return the log of a lane's trace, from liquid to the first crystals."""
    first = int(np.argmax(reading_c >= LIQUID_C))
    sets = (no > 0) & (reading_c < SETS_BELOW_C)
    rows = slice(first, int(np.argmax(sets)))
    length = rows.stop - first
    return Log(
        reading_c[rows].astype(float), heat[rows].astype(float), fan[rows].astype(float),
        np.full(length, room_c), mass_g / 1000.0, type_of("dark"),
    )  # fmt: skip
