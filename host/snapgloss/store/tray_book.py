"""Trays of bars, and the probes of the rig that a run began on."""

from sqlalchemy import select

from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import ProbeRow, TrayRow
from snapgloss.store.tables import CALIBRATIONS, TRAYS


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
            rows = connection.execute(wanted.order_by(CALIBRATIONS.c.role))
            return [ProbeRow(*row) for row in rows]
