"""The end of a batch: its outcome, words and figures, and what to do when it was cut short."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from snapgloss.quality.event_words import stop_words
from snapgloss.quality.words import sentence
from snapgloss.runs import outcome as outcomes
from snapgloss.runs import words
from snapgloss.runs.progress import Tracker

if TYPE_CHECKING:
    from snapgloss.store.store import Store

Ending = Literal["finished", "off", "stopped", "not_started", "left", "link_lost"]
Closed = Literal["finished", "off", "stopped"]


@dataclass(frozen=True)
class RunResult:
    """How a batch ended. `run_id` is None when it never began; figures are as stored.

    `cut_short`: off because the rig lost its power and nobody carried on.
    """

    run_id: int | None
    outcome: Ending
    words: str
    figures: dict[str, float | None]
    cut_short: bool = False


def why_not_started(tracker: Tracker) -> str:
    """Say why a batch never began."""
    if tracker.stop_code:
        return f"Stopped: {stop_words(tracker.stop_code)}. {outcomes.NEVER_BEGAN}"
    return outcomes.LOST_BEFORE_PRESS if tracker.anew else words.CLOSED


def why_left(tracker: Tracker) -> str:
    """Say what becomes of a batch that this program leaves."""
    return outcomes.LEFT_OFFERED if tracker.is_offered else outcomes.LEFT


def why_ended(tracker: Tracker) -> tuple[Closed, str]:
    """Return the outcome of a batch that is over, and why, in words."""
    state, where = tracker.ended_state, _where(tracker)
    if state == "finished":
        return "finished", ""
    if state != "off":
        return "stopped", f"Stopped: {stop_words(tracker.stop_code)}."
    if tracker.anew in ("waits", "offered"):
        return "off", f"{outcomes.CUT_SHORT.format(where=where)} {_why_not_carried_on(tracker)}"
    return "off", f"Turned off {where}."


def _why_not_carried_on(tracker: Tracker) -> str:
    if tracker.anew != "offered":
        return outcomes.NOT_OFFERED
    return outcomes.NOT_PRESSED if tracker.offer_ran_out else outcomes.OFFER_CLOSED


def _where(tracker: Tracker) -> str:
    step_no, steps = tracker.step_no, len(tracker.plan.steps)
    return f"in step {step_no} of {steps}" if step_no else "before the first step"


def close(
    store: "Store",
    run_id: int,
    ended_ms: int,
    outcome: Closed,
    why: str,
    anew: str,
    fahrenheit: bool,
) -> RunResult:
    """Close the run and work out its figures; `why` stands before the verdict.

    A batch that was cut short says last what can still be done with the chocolate.
    """
    store.end_run(run_id, ended_ms, outcome, why)
    figures, verdict = outcomes.keep_figures(store, run_id)
    said = f"{why} {sentence(verdict)}".strip()
    store.end_run(run_id, ended_ms, outcome, said)
    cut_short = outcome == "off" and anew in ("waits", "offered")
    if cut_short:
        advice = outcomes.advice(store, run_id, fahrenheit)
        if advice:
            store.add_note(run_id, advice)
            said = f"{said} {advice}"
    return RunResult(run_id, outcome, said, figures, cut_short)
