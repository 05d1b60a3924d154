"""Trays of bars; what a run began with: the probes of its rig, the bags in its bowl; and events
that no rig numbered."""

from collections.abc import Sequence

from sqlalchemy import Connection, func, insert, select

from snapgloss.base.records import OWN_SEQ
from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import ProbeRow, TrayRow
from snapgloss.store.tables import CALIBRATIONS, EVENTS, TRAYS, USES


def begin_with(
    connection: Connection, run_id: int, probes: Sequence[ProbeRow], lots: Sequence[str],
    now_utc_ms: int,
) -> None:  # fmt: skip
    """Keep what a run begins with, in the transaction that begins it."""
    if probes:
        fitted = [{"run_id": run_id, **probe._asdict()} for probe in probes]
        connection.execute(insert(CALIBRATIONS), fitted)
    if lots:
        used = [{"run_id": run_id, "used_utc_ms": now_utc_ms, "lot": lot} for lot in lots]
        connection.execute(insert(USES), used)


class TrayBook(OpenRecord):
    """The part of the store that keeps when trays went in and out, and what probes there were."""

    def add_tray(self, run_id: int, tray_no: int, place: str, moved_utc_ms: int) -> None:
        """Keep that a tray went "in" or came "out" at a moment."""
        row = {"tray_no": tray_no, "place": place, "moved_utc_ms": moved_utc_ms}
        self._enter(TRAYS, run_id, "entered_utc_ms", [row])

    def trays(self, run_id: int) -> list[TrayRow]:
        """What was entered about the trays of a run, oldest first, corrections after it."""
        return [TrayRow(*row) for row in self._entered(TRAYS, run_id)]

    def probes(self, run_id: int) -> list[ProbeRow]:
        """The probes as the run began; none when nobody knew."""
        columns = [CALIBRATIONS.c[name] for name in ProbeRow._fields]
        wanted = select(*columns).where(CALIBRATIONS.c.run_id == run_id)
        with self._reading() as connection:
            # In Python, whose order of letters no language of a server changes.
            rows = [ProbeRow(*row) for row in connection.execute(wanted)]
            return sorted(rows, key=lambda row: row.role)

    def next_own_seq(self, boot_id: int) -> int:
        """The number of the next event that this program says itself of a boot."""
        own = select(func.max(EVENTS.c.seq)).where(EVENTS.c.boot_id == boot_id, EVENTS.c.seq < 0)
        with self._reading() as connection:
            newest = connection.execute(own).scalar()
        return OWN_SEQ if newest is None else int(newest) + 1
