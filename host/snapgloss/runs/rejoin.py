"""Which run a rig is in the middle of: by its board, its boot, its schedule and its journal."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from snapgloss.base.errors import RigError
from snapgloss.base.records import Event, Identity
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Record
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.progress import ENDED, OFFER_WITHIN_MS, UNDER_WAY

if TYPE_CHECKING:
    from snapgloss.store.store import Store

OFFERED = ("offer", "carried_on")


@dataclass(frozen=True)
class Found:
    """What to go on with. `run_id` None: a batch of which this record knows nothing.

    `anew`: the rig started anew since, so the run gets a new part. `records` were already taken
    from the link; `words` are to be said.
    """

    run_id: int | None
    anew: bool
    words: str
    records: list[Record] = field(default_factory=list)


def find(
    store: "Store", link: RigLink, identity: Identity, boot_id: int, digest: str
) -> Found | str:
    """Return what to go on with, or a sentence (or nothing) to say before a new start.

    The link follows the right place of the journal when it returns a Found. Raises RigError
    when the rig is in the middle of another schedule.
    """
    under_way = identity.state in UNDER_WAY
    if under_way and identity.digest_held != digest:
        raise RigError(
            "The rig is in the middle of another batch.",
            "Let it finish, or turn it off at the rig, then try again.",
        )
    run_id = store.open_run(identity.board, digest)
    if run_id is not None and store.parts(run_id)[-1].boot_id == boot_id:
        return _same_boot(store, link, identity, boot_id, run_id)
    link.follow_from(0, 0)
    if run_id is None:
        return _unknown(store, link, identity, boot_id) if under_way else ""
    records = link.catch_up(-1, identity.newest_event)
    kinds = [record.kind for record in records if isinstance(record, Event)]
    if any(kind in OFFERED for kind in kinds) or _may_still_offer(identity):
        link.expect(identity.newest_reading, identity.newest_event)
        return Found(run_id, True, outcomes.JOINED if under_way else "", records)
    closed = outcomes.close_old(store, run_id)
    return Found(None, False, f"{closed} {outcomes.JOINED}", records) if under_way else closed


def _same_boot(
    store: "Store", link: RigLink, identity: Identity, boot_id: int, run_id: int
) -> Found | str:
    if identity.state not in (*UNDER_WAY, *ENDED, "ready"):
        return ""
    _follow(store, link, identity, boot_id)
    seen = identity.state not in ENDED
    return Found(run_id, False, outcomes.JOINED if seen else outcomes.ENDED_UNSEEN)


def _unknown(store: "Store", link: RigLink, identity: Identity, boot_id: int) -> Found:
    _follow(store, link, identity, boot_id)
    return Found(None, False, outcomes.JOINED)


def _follow(store: "Store", link: RigLink, identity: Identity, boot_id: int) -> None:
    reading_seq, event_seq = store.last_seq(boot_id)
    link.follow_from(reading_seq + 1, event_seq + 1)
    link.expect(identity.newest_reading, identity.newest_event)


def _may_still_offer(identity: Identity) -> bool:
    """Just started, and not yet sure of its probe. A reading a second tells how long it runs."""
    return identity.state == "off" and identity.newest_reading * 1000 < OFFER_WITHIN_MS


def add_lots(store: "Store", run_id: int, lots: Sequence[str]) -> None:
    """Say what went into a run that was joined, as far as the record does not say it already."""
    held = {(use.lot or "").casefold() for use in store.uses() if use.run_id == run_id}
    for lot in lots:
        if lot.casefold() not in held:
            store.add_use(run_id, lot, None, None)
