"""What the host is given of a drawn rig: the maker's description, a schedule, a logged run."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import type_of
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.rigs.heat_model import Log
from snapgloss.rigs.learn_log import LIQUID_C, SETS_BELOW_C
from snapgloss.rigs.refine import refine
from snapgloss.schedules.doubt import Samples
from snapgloss.schedules.model import ScheduleFile, Step
from travels.label import Label, config_of
from travels.plant import Plant
from travels.population import Array, Rigs
from travels.scenarios import SCENARIOS

USUAL_ROOM_C = 21.0


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
        "has_sense": bool(config.has_sense), "has_plate": bool(config.has_plate),
    })  # fmt: skip


def samples_of(label: Label, rigs: Rigs, at: int) -> Samples:
    """Return the one bowl that is there, every figure known to the host, twice."""
    of = {field.name: float(getattr(rigs, field.name)[at]) for field in fields(rigs)}
    known = {
        "heater_w": of["heater_w"],
        "plate_j_per_k": of["plate_j_per_k"],
        "plate_w_per_k": of["coupling_w_per_k"],
        "loss_w_per_k": of["plate_loss_w_per_k"] + of["product_loss_w_per_k"],
        "fan_loss_w_per_k": of["fan_loss_w_per_k"],
        "probe_lag_s": of["probe_s"] + of["second_probe_s"],
        "solid_share": of["solid_share"],
        "specific": float(Plant(rigs).specific_j_per_kg_k[at]),
        "latent": of["latent_j_per_kg"],
        "offset_c": of["offset_c"],
        "room_c": of["room_c"],
    }
    believed = described_rig(label).plate_w_per_k
    twice = {name: np.full(2, value) for name, value in known.items()}
    return Samples(label.mass_g / 1000.0, **twice, believed_w_per_k=believed)


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


def refined(trace: dict[str, Array], label: Label, learned: object) -> object:
    """Return the record that the host makes of a lane's first batch, told no room; `learned`,
    the rig's own, where it refuses to."""
    columns = [trace[name] for name in ("no", "reading_c", "heat", "fan")]
    log = log_of_lane(*columns, label.mass_g, USUAL_ROOM_C)
    try:
        return refine(log, config_of(label)).figures
    except InputError:
        return learned
