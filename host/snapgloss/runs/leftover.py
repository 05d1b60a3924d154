"""Runs that a host left open on this board, for another schedule: completed and closed.

What the rig still keeps of them is fetched before a new start lets it go; what it has overwritten
becomes a stated gap.
"""

from typing import TYPE_CHECKING

from snapgloss.base.errors import RigError
from snapgloss.base.records import Event, Identity
from snapgloss.link.client import RigLink
from snapgloss.link.decode import state_name
from snapgloss.quality.words import sentence
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.progress import ENDED, UNDER_WAY
from snapgloss.runs.recorder import Recorder

if TYPE_CHECKING:
    from snapgloss.store.rows import Outcome
    from snapgloss.store.store import Store

OFFERED = (
    "The rig offers to carry on with another batch, which a power cut interrupted.",
    "To save it, press start on the rig and run its schedule here. To give it up, wait 2 minutes "
    "until the rig takes its offer back.",
)
ENDED_UNSEEN = "Run {run}, which was left, has ended: {how}. Its record is complete now."
END_LOST = "Run {run}, which was left, has ended, but the rig no longer keeps how. It is closed."
LOST = "Its end was not recorded: the rig had overwritten it."
HOW = {"finished": "it ran to its end", "off": "it was turned off", "stopped": "it was stopped"}


def settle(store: "Store", link: RigLink, identity: Identity, boot_id: int, digest: str) -> str:
    """Close what is open on this board for other schedules; sentences about it, or nothing.

    Raises RigError while the rig offers to carry on with one of them: a new start would take that
    away.
    """
    left = [run for run in store.open_runs(identity.board) if run.digest != digest]
    if not left or (identity.state in UNDER_WAY and identity.digest_held != digest):
        return ""
    if identity.state == "ready" and identity.digest_held != digest and _offers(link, identity):
        raise RigError(*OFFERED)
    return " ".join(_close(store, link, identity, boot_id, run.id) for run in left)


def _offers(link: RigLink, identity: Identity) -> bool:
    """Whether the window that is open is an offer of this boot."""
    link.follow_from(identity.newest_reading + 1, max(0, identity.oldest_event))
    found = link.catch_up(-1, identity.newest_event)
    kinds = [record.kind for record in found if isinstance(record, Event)]
    return "offer" in kinds and "carried_on" not in kinds


def _close(store: "Store", link: RigLink, identity: Identity, boot_id: int, run_id: int) -> str:
    part = store.parts(run_id)[-1]
    if part.boot_id != boot_id:
        return outcomes.close_old(store, run_id)
    _fetch(store, link, identity, boot_id)
    ended = _end_of(store.events(run_id))
    if ended is None:
        outcomes.end_unfinished(store, run_id, LOST)
        return END_LOST.format(run=run_id)
    outcome, at_ms = ended
    store.end_run(run_id, at_ms - part.shift_ms, outcome, "")
    _, verdict = outcomes.keep_figures(store, run_id)
    store.end_run(run_id, at_ms - part.shift_ms, outcome, sentence(verdict))
    return ENDED_UNSEEN.format(run=run_id, how=HOW[outcome])


def _fetch(store: "Store", link: RigLink, identity: Identity, boot_id: int) -> None:
    reading_seq, event_seq = store.last_seq(boot_id)
    link.follow_from(reading_seq + 1, event_seq + 1)
    recorder = Recorder(store, boot_id, link.now_s())
    recorder.add_all(link.catch_up(identity.newest_reading, identity.newest_event))
    recorder.flush(link.now_s())


def _end_of(events: list[Event]) -> "tuple[Outcome, int] | None":
    """Outcome and time of the first move that left the batch."""
    for event in events:
        if event.kind != "state" or state_name(event.b) not in UNDER_WAY:
            continue
        after = state_name(event.a)
        if after in ENDED:
            return "stopped" if after in ("stopped", "locked") else _of(after), event.at_ms
    return None


def _of(state: str) -> "Outcome":
    return "finished" if state == "finished" else "off"
