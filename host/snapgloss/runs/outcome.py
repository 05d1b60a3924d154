"""How a batch ended: its figures, its words, and the run it belongs to."""

from typing import TYPE_CHECKING

from snapgloss.base.records import STREAMS
from snapgloss.quality.figures import RunFigures, figures_of
from snapgloss.quality.save_it_run import card_of_run
from snapgloss.quality.words import verdict
from snapgloss.runs.words import about
from snapgloss.store import TO_THE_END

if TYPE_CHECKING:
    from snapgloss.store.rows import Outcome, RunRow
    from snapgloss.store.store import Store

LEFT = (
    "You left; the rig carries on by itself. Run the same schedule again to join the batch, "
    "or turn it off at the rig."
)
LEFT_OFFERED = (
    "You left. The rig is off and waits: press start on it within 2 minutes and it carries on; "
    "run the same schedule again to record it. Else the batch ends here."
)
CARRIES_ON = (
    "If the rig has power, the batch goes on by itself. Plug it in and run the same schedule "
    "again to join it."
)
NOT_RECORDED = "This batch is no longer recorded. A real rig carries on by itself."
JOINED = "Joined the batch that is under way."
WINDOW_JOINED = "The rig was waiting for this start already: nothing has begun yet."
WINDOW_CLOSED = "The rig was waiting for the start of another schedule. It waits no more."
ENDED_UNSEEN = "The batch you left has ended; this is its record."
NOTHING_STARTED = "Nothing was started; the start window is closed again."
NEVER_BEGAN = "The batch never began."
LOST_BEFORE_PRESS = "The rig started anew before anyone pressed start."
CUT_SHORT = "Cut short {where}: the rig started anew"
NOT_OFFERED = "and did not offer to carry on: the chocolate or the rig was not fit for it."
NOT_PRESSED = "and nobody pressed start within 2 minutes to carry on."
OFFER_CLOSED = "and was turned off before anybody pressed start to carry on."
LEFT_OPEN = "Cut short: the rig was switched off, and nobody carried on."
CLOSED_OLD = "Run {run} of this schedule was cut short: the rig was switched off. It is closed."
LOOKING = "If the rig has power, the batch goes on by itself. Looking for it ..."
FOUND = "Found again: going on in the same run."
ANOTHER = "Another rig is on that port now: {board}, not {wanted}. Nothing of it is recorded."
LOST_ANEW = "the rig started anew before more of them could be fetched"
STOOD_STILL = "It stood still for about {span}, by this computer's clock."


def keep_figures(store: "Store", run_id: int) -> tuple[dict[str, float | None], str]:
    """Work out and store the figures of a run; return them and the verdict in words."""
    figures = _figures(store, store.run(run_id))
    kept = figures.as_dict()
    store.save_figures(run_id, kept)
    return kept, verdict(figures) if figures.minutes_working > 0 else ""


def figures_anew(store: "Store", run_id: int) -> dict[str, float | None]:
    """Work out the figures of a run from its record, and keep nothing."""
    return _figures(store, store.run(run_id)).as_dict()


def _figures(store: "Store", run: "RunRow") -> RunFigures:
    return figures_of(
        store.readings(run.id), store.events(run.id), run.window_low_mc, run.window_high_mc,
        run.work_mc, store.heater_w(run.id),
    )  # fmt: skip


def end_unfinished(
    store: "Store", run_id: int, words: str, outcome: "Outcome" = "unfinished"
) -> None:
    """Close a run that nothing will ever join again, at its last reading."""
    readings, part = store.readings(run_id), store.parts(run_id)[-1]
    newest_ms = readings[-1].at_ms - part.shift_ms if readings else part.start_ms
    end_ms = max(newest_ms, part.start_ms)
    store.end_run(run_id, end_ms, outcome, words)


def close_old(store: "Store", run_id: int) -> str:
    """Close a run of this board that nobody can carry on; return a sentence about it."""
    lose_the_rest(store, run_id)
    end_unfinished(store, run_id, LEFT_OPEN, "off")
    keep_figures(store, run_id)
    return CLOSED_OLD.format(run=run_id)


def lose_the_rest(store: "Store", run_id: int) -> None:
    """Log that the rig started anew while nobody listened: what it told last is not to be had."""
    boot_id = store.parts(run_id)[-1].boot_id
    for stream, newest_seq in zip(STREAMS, store.last_seq(boot_id), strict=True):
        store.add_gap(boot_id, stream, newest_seq + 1, TO_THE_END, LOST_ANEW)


def newest_step(store: "Store", run_id: int) -> int:
    """Return the step of the newest reading inside the steps of a run, 0 when there is none."""
    return next((r.step_no for r in reversed(store.readings(run_id)) if r.step_no), 0)


def stood_still(store: "Store", run_id: int) -> str:
    """Say how long it was from the last reading to the newest start of a real rig; a simulated
    one has no time that this computer's clock could tell."""
    if store.unheard_ms(run_id):
        return ""  # it went on for a while that nobody recorded
    part = store.parts(run_id)[-1]
    begun_ms = part.start_ms + part.shift_ms
    before = [r.at_ms for r in store.readings(run_id) if r.at_ms < begun_ms]
    stood_s = (begun_ms - before[-1]) // 1000 if before else 0
    return STOOD_STILL.format(span=about(stood_s)) if stood_s > 1 else ""


def advice(store: "Store", run_id: int, fahrenheit: bool) -> str:
    """Return what to do for a batch that was cut short, or an empty string."""
    card = card_of_run(store, run_id, fahrenheit=fahrenheit)
    return card.words if card else ""
