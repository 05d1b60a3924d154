"""The good batches of a rig and the bad ones in the record, side by side."""

from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.quality import grades
from snapgloss.quality.causes_curve import habits
from snapgloss.quality.changed import Batch, Changes, changes_of
from snapgloss.quality.columns import known as known_of
from snapgloss.runs import grading
from snapgloss.runs.why import curve_of, is_alike, remelt_share

if TYPE_CHECKING:
    from snapgloss.store import RunRow
    from snapgloss.store.store import Store

LOOKED_AT = 40
"""So many graded batches, the newest."""


def changed(store: "Store", rig: str | None = None, fahrenheit: bool = False) -> Changes:
    """Return what changed between the good and the bad batches of a rig; None: of the newest
    batch's. Only those of the kind of its newest batch are compared: see `why.is_alike`. Raises
    InputError for no batch.
    """
    runs = [one for one in store.runs() if rig is None or one.rig == rig]
    if not runs:
        raise InputError("No such batch yet.", "Name the rig as snapgloss runs shows it.")
    same = (one for one in runs if is_alike(one, runs[0]))
    found = [batch for one in same if (batch := batch_of(store, one)) is not None]
    return changes_of(found[:LOOKED_AT], fahrenheit)


def batch_of(store: "Store", run: "RunRow") -> Batch | None:
    """Return one graded batch with what the record knows of it; None where nobody graded it."""
    grade = grades.worst(grading.bars_summary(store, run.id).standings)
    if grade is None:
        return None
    curve = curve_of(store, run)
    known = habits(curve)
    figures = {} if known is None else dict(known[0]._asdict())
    room_mc = known_of(curve.run.room_mc)
    if len(room_mc):
        figures["room_c"] = float(room_mc.mean()) / 1000
    share = remelt_share(store, run)
    if share is not None:
        figures["remelt_share"] = share
    lots = frozenset(use.lot for use in store.uses(run.id) if use.lot is not None)
    return Batch(run.id, grade == "sell", figures, lots)
