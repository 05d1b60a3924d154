"""How a batch ended: its figures, its words, and the run it belongs to."""

from typing import TYPE_CHECKING

from snapgloss.quality.figures import figures_of
from snapgloss.quality.words import verdict

if TYPE_CHECKING:
    from snapgloss.store.store import Store

LEFT = (
    "You left; the rig carries on by itself. Run the same schedule again to join the batch, "
    "or turn it off at the rig."
)
CARRIES_ON = (
    "The rig carries on by itself. Plug it in and run the same schedule again to join the batch."
)
NOT_RECORDED = "The rig carries on by itself, but this batch is no longer recorded."
JOINED = "Joined the batch that is under way."
ENDED_UNSEEN = "The batch you left has ended; this is its record."
NOTHING_STARTED = "Nothing was started; the start window is closed again."
NEVER_BEGAN = "The batch never began."
RESTARTED = "Stopped: the rig started anew by itself; heat is off."


def keep_figures(store: "Store", run_id: int) -> tuple[dict[str, float | None], str]:
    """Work out and store the figures of a run; return them and the verdict in words."""
    run, readings, events = store.run(run_id), store.readings(run_id), store.events(run_id)
    figures = figures_of(readings, events, run.window_low_mc, run.window_high_mc, run.work_mc)
    kept = figures.as_dict()
    store.save_figures(run_id, kept)
    return kept, verdict(figures) if figures.minutes_working > 0 else ""


def end_unfinished(store: "Store", run_id: int, words: str) -> None:
    """Close a run that nothing will ever join again, at its last reading."""
    readings = store.readings(run_id)
    end_ms = readings[-1].at_ms if readings else store.parts(run_id)[0].start_ms
    store.end_run(run_id, end_ms, "unfinished", words)


def open_run(store: "Store", boot_id: int, digest: str) -> int | None:
    """Return the newest unfinished run of this schedule on this boot of the rig, or None."""
    for run in store.runs():
        if run.ended_utc_ms is not None or run.digest != digest:
            continue
        if any(part.boot_id == boot_id for part in store.parts(run.id)):
            return run.id
    return None
