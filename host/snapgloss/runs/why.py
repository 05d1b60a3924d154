"""Why the bars of a batch are as they are: what its record and its maker say, put to the rules."""

from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from snapgloss.base.errors import InputError
from snapgloss.quality import grades
from snapgloss.quality.causes import LATE, SYMPTOMS, Answer, answer
from snapgloss.quality.causes_curve import POUR, Curve, Sign, Usual, habits, signs_of
from snapgloss.quality.causes_told import Told, signs_told
from snapgloss.quality.columns import Columns
from snapgloss.quality.kept_curves import kept_curves
from snapgloss.quality.observe_run import growth_of, log_of, observed, usable_curves
from snapgloss.quality.save_it_run import kind_of
from snapgloss.quality.trays import trays_of
from snapgloss.runs import grading

if TYPE_CHECKING:
    from snapgloss.store import RunRow
    from snapgloss.store.store import Store

ALIKE = ("rig", "simulated", "method", "type")
MASS_SHARE = 0.25
SEARCHED, COMPARED = 40, 6
"""So many good batches say what is usual, of so many of the newest."""
NO_MARK = Answer(
    "The bars are not graded to sell, but nobody said what is wrong with them. Say it: film, "
    "dull, streaks, spots, soft, no release or cracks.",
    [],
    [],
)


def why(
    store: "Store",
    run_id: int,
    marks: Sequence[str] = (),
    told: Told | None = None,
    fahrenheit: bool = False,
    folder: Path | None = None,
    compared: int = COMPARED,
) -> Answer:
    """Return what the bars of a run come of; `marks` (of SYMPTOMS) beside those that were graded.

    `folder`: where cooling curves are kept; with enough of them crystals are estimated too.
    `compared`: how many good batches it is held against, each some hundredths of a second. Raises
    StoreError when there is no run of that number, InputError for a mark that is none.
    """
    run = store.run(run_id)
    for mark in marks:
        if mark not in SYMPTOMS:
            raise InputError(f'"{mark}" is no mark.', f"Choose from {', '.join(SYMPTOMS)}.")
    summary = grading.bars_summary(store, run_id)
    symptoms = {*marks, *symptoms_of(summary.standings)}
    if not symptoms and grades.worst(summary.standings) in ("seconds", "remelt"):
        return NO_MARK
    signs = {
        **signs_of(curve_of(store, run), usual_of(store, run, compared)),
        **_crystals(store, run, folder),
        **signs_told(_told(store, run, told or Told()), trays_of(store.trays(run_id))),
    }
    return answer(symptoms, signs, summary.smear, fahrenheit)


def why_bad(
    store: "Store", run_id: int, fahrenheit: bool = False, compared: int = COMPARED
) -> Answer | None:
    """Return the same of bars that are graded, and not to sell; None for all others."""
    standings = grading.bars_summary(store, run_id).standings
    if grades.worst(standings) in ("seconds", "remelt"):
        return why(store, run_id, fahrenheit=fahrenheit, compared=compared)
    return None


def symptoms_of(standings: Sequence[grades.Standing]) -> set[str]:
    """Return the marks of the first look that has any; good at first and bad later is bloom."""
    for at, one in enumerate(standings):
        if one.marks or one.verdict != "sell":
            came_late = at > 0 or one.look != "first"
            return {LATE} if came_late else set(one.marks)
    return set()


def curve_of(store: "Store", run: "RunRow") -> Curve:
    """Return a run's record as the rules want it."""
    readings = store.readings(run.id)
    down = ("cooling", "seeding")
    targets = [r.target_mc for r in readings if r.state in down and r.target_mc is not None]
    low_mc = min(targets) if run.method == "cooled" and targets else None
    stir = np.array([reading.stir_permille for reading in readings], dtype=float)
    return Curve(Columns(readings), stir, store.events(run.id), kind_of(run), low_mc, run.mass_g)


def usual_of(store: "Store", run: "RunRow", compared: int = COMPARED) -> Usual | None:
    """Return what the rig shows in its newest good batches alike; None where there is none."""
    alike = [
        one for one in store.runs()
        if is_alike(one, run) and one.id != run.id and one.outcome == "finished"
    ][:SEARCHED]  # fmt: skip
    good = [one for one in alike if _is_good(store, one.id)][:compared]
    shown = [found[0] for one in good if (found := habits(curve_of(store, one))) is not None]
    return Usual(*(median(column) for column in zip(*shown, strict=True))) if shown else None


def is_alike(one: "RunRow", other: "RunRow") -> bool:
    """Return whether two batches can be compared: one rig, method and type, about the same mass.

    Plate and chocolate lie apart by what the schedule asks of the heater, so nothing else will do.
    """
    same = all(getattr(one, name) == getattr(other, name) for name in ALIKE)
    return same and abs(one.mass_g - other.mass_g) <= MASS_SHARE * other.mass_g


def _is_good(store: "Store", run_id: int) -> bool:
    return grades.worst(grading.bars_summary(store, run_id).standings) == "sell"


def _crystals(store: "Store", run: "RunRow", folder: Path | None) -> dict[str, Sign]:
    """Return the share of the fat that had set by the last pour, where curves stand behind it."""
    growth = None
    kind = kind_of(run)
    if folder is not None:
        paths = kept_curves(folder, run.chocolate, run.simulated)
        growth = growth_of(usable_curves(paths).samples, kind)
    if growth is None:
        return {}
    readings, events = store.readings(run.id), store.events(run.id)
    found = observed(
        log_of(readings, events, run.mass_g, kind.fat_share), kind, run.method, growth
    )
    poured_ms = [e.at_ms for e in events if e.kind == "added" and e.a == POUR]
    until_s = (poured_ms[-1] - readings[0].at_ms) / 1000 if poured_ms else np.inf
    shares = found.v[(found.seconds <= until_s) & ~np.isnan(found.v)]
    return {"crystals_share": Sign(float(shares[-1]))} if len(shares) else {}


def _told(store: "Store", run: "RunRow", told: Told) -> Told:
    """What was told; where nothing was, what the record has of room, humidity, re-melted bars."""
    rows = store.bars(run.id).conditions
    room_mc = next((r.room_mc for r in reversed(rows) if r.room_mc is not None), None)
    permille = next(
        (r.humidity_permille for r in reversed(rows) if r.humidity_permille is not None), None
    )
    return told.filled(
        room_c=None if room_mc is None else room_mc / 1000,
        humidity_percent=None if permille is None else permille / 10,
        remelt_share=remelt_share(store, run),
    )


def remelt_share(store: "Store", run: "RunRow") -> float | None:
    """Return the share of the bowl that came of earlier bars; None where no grams were said."""
    used = [use for use in store.uses(run.id) if use.from_run_id is not None]
    if any(use.mass_g is None for use in used):
        return None
    return min(1.0, sum(use.mass_g or 0 for use in used) / run.mass_g)
