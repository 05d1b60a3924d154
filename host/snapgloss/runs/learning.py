"""Rigs learned from their batches, kept in the data folder: each batch is fitted once."""

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.rigs.drift import Drift, drifts
from snapgloss.rigs.heat_model import FIGURES, Log
from snapgloss.rigs.learn import Fit, learn
from snapgloss.rigs.learn_log import log_of
from snapgloss.schedules import files
from snapgloss.store import sheets

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store import RunRow
    from snapgloss.store.store import Store

FILE = "learned.txt"
AT_ONCE = 3
"""So many batches are fitted at one asking: each takes some seconds."""
DRIFT_OVER = 12
"""Newest fits that a drift is drawn through."""
FIGURE_WORDS = {
    "heater_w": ("Heater", "W"),
    "plate_j_per_k": ("Heat that plate and bowl hold", "J/K"),
    "plate_w_per_k": ("From plate to chocolate", "W/K"),
    "loss_w_per_k": ("Lost in still air", "W/K"),
    "fan_loss_w_per_k": ("Taken by the fan", "W/K"),
    "probe_lag_s": ("Lag of the probe", "s"),
}
"""What a person calls each figure, and its unit."""


class KeptFit(NamedTuple):
    """What one batch taught: figures and the standard deviation of their logarithms; `why` says
    why it taught nothing, then both are empty."""

    run: int
    rig: str
    simulated: bool
    at_utc_ms: int
    figures: dict[str, float]
    log_sds: dict[str, float]
    dead_s: int
    rms_c: float
    why: str

    def as_fit(self) -> Fit:
        """As a fit whose figures are taken as independent, without its model's curve."""
        variances = np.diag([self.log_sds[name] ** 2 for name in FIGURES])
        return Fit(self.figures, variances, self.dead_s, self.rms_c, np.empty(0))


def log_of_run(store: "Store", run_id: int, room_c: float | None) -> Log:
    """Return a run's log to learn from; `room_c` None: as the room's probe says.

    Raises InputError for a run that no rig ran, or without what is needed.
    """
    run = store.run(run_id)
    if not run.schedule_toml:
        raise InputError(f"Run {run_id} was read from a log: no rig ran it.", "Leave it out.")
    kind = files.from_text(run.schedule_toml).chocolate_type
    return log_of(store.readings(run_id), run.mass_g, kind, room_c)


def kept_fits(data: Path, rig: str, simulated: bool) -> list[KeptFit]:
    """What was learned of a rig so far, by batch, the oldest first. Raises StoreError."""
    rows = (KeptFit(**row) for row in sheets.read(data / FILE))
    own = {one.run: one for one in rows if (one.rig, one.simulated) == (rig, simulated)}
    return [own[run] for run in sorted(own)]


def not_learned(store: "Store", data: Path, rig: str, simulated: bool) -> "list[RunRow]":
    """The finished batches of a rig that nothing was learned from yet, the newest first."""
    tried = {one.run for one in kept_fits(data, rig, simulated)}
    return [
        run for run in store.runs()
        if (run.rig, run.simulated, run.outcome) == (rig, simulated, "finished")
        and run.schedule_toml and run.id not in tried
    ]  # fmt: skip


def learn_more(
    store: "Store",
    data: Path,
    said: "RigDescription",
    simulated: bool,
    now_utc_ms: Callable[[], int] = lambda: time.time_ns() // 1_000_000,
) -> list[KeptFit]:
    """Learn from the newest batches that were not learned from, at most three, and keep it."""
    found = []
    for run in not_learned(store, data, said.name, simulated)[:AT_ONCE]:
        kept = _fitted(store, run, said, now_utc_ms())
        sheets.append(data / FILE, kept._asdict())
        found.append(kept)
    return found


def drift_of(fits: Sequence[KeptFit]) -> list[Drift]:
    """How each figure moves over the newest batches that taught something; none of them, none."""
    known = [one.as_fit() for one in fits if not one.why][-DRIFT_OVER:]
    return drifts(known) if known else []


def _fitted(store: "Store", run: "RunRow", said: "RigDescription", now_utc_ms: int) -> KeptFit:
    empty = KeptFit(run.id, run.rig, run.simulated, now_utc_ms, {}, {}, 0, 0.0, "")
    try:
        fit = learn(log_of_run(store, run.id, None), said)
    except InputError as fault:
        return empty._replace(why=fault.message)
    return empty._replace(
        figures={name: round(value, 4) for name, value in fit.figures.items()},
        log_sds={name: round(fit.log_sd(name), 5) for name in FIGURES},
        dead_s=fit.dead_s,
        rms_c=round(fit.rms_c, 4),
    )
