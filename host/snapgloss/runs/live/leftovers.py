"""What a rig that was just found is in the middle of: a batch to join, or one to close.

Nothing here asks for a start: a batch is joined only where the rig is in it, or offers to carry
on with it, or waits for a press that somebody asked for.
"""

from typing import TYPE_CHECKING

from snapgloss.base.errors import RigError
from snapgloss.base.records import Identity
from snapgloss.link.client import RigLink
from snapgloss.runs import leftover
from snapgloss.runs.live.kept import Kept
from snapgloss.runs.live.staged import Staged, staged_again
from snapgloss.runs.progress import OFFER_WITHIN_MS, UNDER_WAY

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store.rows import RunRow
    from snapgloss.store.store import Store


class Leftovers:
    """Looks into the record and at what the session kept."""

    def __init__(self, store: "Store", rig: "RigDescription", kept: Kept) -> None:
        self._store, self._rig, self._kept = store, rig, kept

    def of(self, link: RigLink, there: Identity) -> tuple[Staged | None, str]:
        """Return the batch to go on with, or None and sentences on what was closed."""
        if there.state in (*UNDER_WAY, "ready"):
            return self._known(there), ""
        if there.state == "off" and there.newest_reading * 1000 < OFFER_WITHIN_MS:
            return None, ""  # just started: it may still offer to carry on
        return None, self._closed(link, there)

    def _known(self, there: Identity) -> Staged | None:
        run = self._open_run(there)
        if run is not None:
            room_c = self._kept.room_c
            return staged_again(run.schedule_toml, self._rig, room_c, run.workshop, run.seed)
        kept = self._kept
        if kept.digest and kept.digest == there.digest_held:
            return staged_again(kept.schedule_toml, self._rig, kept.room_c, kept.workshop)
        return None

    def _open_run(self, there: Identity) -> "RunRow | None":
        runs = self._store.open_runs(there.board)
        return next((run for run in reversed(runs) if run.digest == there.digest_held), None)

    def _closed(self, link: RigLink, there: Identity) -> str:
        if not self._store.open_runs(there.board):
            return ""
        boot_id = self._store.boot_id(there)
        try:
            return leftover.settle(self._store, link, there, boot_id, "")
        except RigError as fault:
            return str(fault)
