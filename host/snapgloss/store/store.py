"""The record: boots, their readings and events, and the runs made of them.

Every method is one short transaction on a connection of its own, so a reader never waits for
the one writer thread. All raise StoreError, and nothing else of the database's; InputError for
a run that is not there.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, get_args

from sqlalchemy import Connection, Table, func, insert, select, update

from snapgloss.base.errors import InputError
from snapgloss.base.records import STREAMS, Event, Identity, Reading, Stream
from snapgloss.store import packed, parts
from snapgloss.store.engine import insert_new
from snapgloss.store.failures import as_store_errors
from snapgloss.store.figure_book import FigureBook
from snapgloss.store.gloss_book import GlossBook
from snapgloss.store.log_book import LogBook, replaced
from snapgloss.store.lot_book import LotBook
from snapgloss.store.note_book import NoteBook
from snapgloss.store.room_ahead import take_room
from snapgloss.store.rows import GapRow, NewRun, Outcome, PartRow, ProbeRow, RunRow
from snapgloss.store.series_book import SeriesBook
from snapgloss.store.tables import (
    BOOTS,
    CONSOLE,
    EVENTS,
    GAPS,
    READINGS,
    RUN_PARTS,
    RUNS,
)
from snapgloss.store.together import Together
from snapgloss.store.tray_book import TrayBook, begin_with

Told = tuple[int, Mapping[Table, Sequence[dict[str, Any]]]]
MAX_CONSOLE_CHARS = 4000  # of one piece: a rig gone mad must not fill the disk with one line
UNKNOWN_CHAR = "\ufffd"


class Store(LotBook, FigureBook, LogBook, SeriesBook, TrayBook, GlossBook, NoteBook):
    """See snapgloss.store.open_store, which makes one."""

    def boot_id(self, identity: Identity) -> int:
        """The key of this board's present start, made when first seen."""
        row = {
            "board": identity.board,
            "boot_nonce": identity.boot_nonce,
            "firmware": identity.firmware,
            "simulated": identity.simulated,
            "first_seen_utc_ms": self._clock_utc_ms(),
            "heater_w": identity.heater_w if identity.heater_w > 0 else None,
        }
        same = (BOOTS.c.board == identity.board) & (BOOTS.c.boot_nonce == identity.boot_nonce)
        with self._writing(beside=True) as connection:
            connection.execute(insert_new(connection, BOOTS), row)
            return int(connection.execute(select(BOOTS.c.id).where(same)).scalar_one())

    def add_readings(self, boot_id: int, readings: Sequence[Reading]) -> None:
        """Keep a batch in one transaction; a reading whose (boot, seq) is held is left alone."""
        self._add(READINGS, boot_id, [reading._asdict() for reading in readings])

    def add_events(self, boot_id: int, events: Sequence[Event]) -> None:
        """Keep a batch in one transaction; an event whose (boot, seq) is held is left alone."""
        self._add(EVENTS, boot_id, [event._asdict() for event in events])

    def add_gap(self, boot_id: int, stream: Stream, from_seq: int, to_seq: int, why: str) -> None:
        """Log that `from_seq` to `to_seq` (inclusive) of a stream are lost, and why."""
        if stream not in STREAMS or from_seq > to_seq:
            raise ValueError(f"no such gap: {stream} {from_seq} to {to_seq}")
        row = {"stream": stream, "from_seq": from_seq, "to_seq": to_seq, "why": why}
        self._add(GAPS, boot_id, [row])

    def take_room(self) -> None:
        """Make ready for live readings: see `room_ahead`. It may take a second: before a batch."""
        with self._writing() as connection:
            take_room(connection)

    def add_console(self, boot_id: int, text: str) -> None:
        """Keep what came over the cable and was no frame, cut to 4000 characters."""
        plain = text[:MAX_CONSOLE_CHARS].replace("\0", UNKNOWN_CHAR)  # no server keeps a NUL
        row = {"seen_utc_ms": self._clock_utc_ms(), "text": plain}
        self._add(CONSOLE, boot_id, [row])

    def add_told(
        self, boot_id: int, readings: Sequence[Reading], events: Sequence[Event],
        gaps: Sequence[tuple[Stream, int, int, str]],
    ) -> None:  # fmt: skip
        """Keep what a rig told lately in one transaction, on the disk when this returns; what is
        held already is left alone. A gap is stream, from, to and why, as in `add_gap`. Several
        threads at once share one transaction."""
        lost = [dict(zip(("stream", "from_seq", "to_seq", "why"), g, strict=True)) for g in gaps]
        told = {
            READINGS: [reading._asdict() for reading in readings],
            EVENTS: [event._asdict() for event in events],
            GAPS: lost,
        }
        if any(told.values()):
            self._together.do((boot_id, told))

    @cached_property
    def _together(self) -> Together[Told]:
        return Together(self._add_all_told)

    def _add_all_told(self, all_of_it: Sequence[Told]) -> None:
        with self._writing(beside=True) as connection:
            for boot_id, told in all_of_it:
                for table, rows in told.items():
                    _insert(connection, table, boot_id, rows)

    def _add(self, table: Table, boot_id: int, rows: Sequence[dict[str, Any]]) -> None:
        if not rows:
            return
        with self._writing(beside=True) as connection:
            _insert(connection, table, boot_id, rows)

    def last_seq(self, boot_id: int) -> tuple[int, int]:
        """The newest (reading, event) sequence number held of a boot; -1 where none."""
        with self._reading() as connection:
            newest = [
                connection.execute(
                    select(func.coalesce(func.max(table.c.seq), -1)).where(
                        table.c.boot_id == boot_id, table.c.seq >= 0
                    )
                ).scalar_one()
                for table in (READINGS, EVENTS)
            ]
            newest[0] = max(newest[0], packed.last_seq(connection, boot_id))
        return int(newest[0]), int(newest[1])

    def console(self, boot_id: int) -> list[str]:
        """What `add_console` kept of a boot, oldest first."""
        rows = select(CONSOLE.c.text).where(CONSOLE.c.boot_id == boot_id).order_by(CONSOLE.c.id)
        with self._reading() as connection:
            return [str(text) for text in connection.execute(rows).scalars()]

    # --- runs ---

    def begin_run(
        self, new: NewRun, boot_id: int, start_ms: int, now_ms: int | None = None,
        probes: Sequence[ProbeRow] = (), lots: Sequence[str] = (),
    ) -> int:  # fmt: skip
        """Open a run, unfinished from now, with its first part (see `add_part`), the probes of its
        rig and the bags in its bowl, all or nothing: a host killed in between would leave a run
        nobody finds again. Gives its number."""
        begun_utc_ms = self._utc_ms_of(start_ms, now_ms)
        row = {
            **new._asdict(),
            "started_utc_ms": self._clock_utc_ms(),
            "ended_utc_ms": None,
            "outcome": "unfinished",
            "words": "",
        }
        with self._writing() as connection:
            key = connection.execute(insert(RUNS).values(row)).inserted_primary_key
            assert key is not None
            run_id = int(key[0])
            parts.begin(connection, run_id, boot_id, start_ms, begun_utc_ms)
            begin_with(connection, run_id, probes, lots, self._clock_utc_ms())
        return run_id

    def add_part(
        self, run_id: int, boot_id: int, start_ms: int, now_ms: int | None = None
    ) -> None:
        """The run goes on in this boot from `start_ms` (device ms). Ends any part still open
        on the same boot, or of the same run. `now_ms` is the device's time at this moment, None
        when that is `start_ms`."""
        self.run(run_id)
        with self._writing() as connection:
            parts.begin(connection, run_id, boot_id, start_ms, self._utc_ms_of(start_ms, now_ms))

    def _utc_ms_of(self, start_ms: int, now_ms: int | None) -> int:
        return self._clock_utc_ms() - (0 if now_ms is None else max(0, now_ms - start_ms))

    def open_run(self, board: str, digest: str) -> int | None:
        """The newest unfinished run of a schedule on a board, whatever boot of it; or None."""
        wanted = (
            select(func.max(RUNS.c.id))
            .join(RUN_PARTS, RUN_PARTS.c.run_id == RUNS.c.id)
            .join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
            .where(BOOTS.c.board == board, RUNS.c.digest == digest, RUNS.c.ended_utc_ms.is_(None))
        )
        with self._reading() as connection:
            found = connection.execute(wanted).scalar()
        return None if found is None else int(found)

    def open_runs(self, board: str) -> list[RunRow]:
        """All unfinished runs of a board, the oldest first, whatever schedule or boot."""
        wanted = (
            select(RUNS)
            .join(RUN_PARTS, RUN_PARTS.c.run_id == RUNS.c.id)
            .join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
            .where(BOOTS.c.board == board, RUNS.c.ended_utc_ms.is_(None))
            .distinct()
            .order_by(RUNS.c.id)
        )
        with self._reading() as connection:
            return [RunRow(*row) for row in connection.execute(wanted)]

    def end_run(self, run_id: int, end_ms: int, outcome: Outcome, words: str) -> None:
        """Close a run at `end_ms` (device ms of its last part, inclusive)."""
        if outcome not in get_args(Outcome):
            raise ValueError(f"no such outcome: {outcome}")
        self.run(run_id)
        row = {"ended_utc_ms": self._clock_utc_ms(), "outcome": outcome, "words": words}
        with self._writing() as connection:
            connection.execute(update(RUNS).where(RUNS.c.id == run_id).values(row))
            parts.end(connection, run_id, end_ms)

    def runs(self, with_replaced: bool = False) -> list[RunRow]:
        """All runs, the newest first; those that were read from a log wrongly only if asked."""
        known = select(RUNS) if with_replaced else select(RUNS).where(RUNS.c.id.not_in(replaced()))
        wanted = known.order_by(RUNS.c.id.desc())
        with self._reading() as connection:
            return [RunRow(*row) for row in connection.execute(wanted)]

    def parts(self, run_id: int) -> list[PartRow]:
        """The boots that saw the run, in order; more than one after a reset."""
        with self._reading() as connection:
            return parts.of_run(connection, run_id)

    def silent_ms(self, run_id: int) -> int | None:
        """How old the newest reading of a run's last part is, by the host's clock; None when
        there is none. It means nothing for a simulated rig, whose time is not the host's."""
        with self._reading() as connection:
            newest_utc_ms = parts.newest_utc_ms(connection, run_id)
        return None if newest_utc_ms is None else self._clock_utc_ms() - newest_utc_ms

    def readings(self, run_id: int) -> list[Reading]:
        """A run's readings in order. After a reset `at_ms` counts on from the boot before, by
        the host's clock; `seq` begins again."""
        with self._reading() as connection:
            found = [parts.readings(connection, part) for part in parts.of_run(connection, run_id)]
        return found[0] if len(found) == 1 else [r for part in found for r in part]

    def events(self, run_id: int) -> list[Event]:
        """A run's events in order, their `at_ms` as in `readings`."""
        with self._reading() as connection:
            return [
                Event._make(row)
                for part in parts.of_run(connection, run_id)
                for row in parts.rows(connection, EVENTS, part)
            ]

    def gaps(self, run_id: int) -> list[GapRow]:
        """What is known to be lost between the first and last record of each of its parts."""
        with self._reading() as connection:
            return [
                gap
                for part in parts.of_run(connection, run_id)
                for gap in parts.gaps(connection, part)
            ]

    def unheard_ms(self, run_id: int) -> list[int]:
        """Where its rig came back after going on unheard, in the run's device ms."""
        with self._reading() as connection:
            return parts.unheard_ms(connection, run_id)

    def pack_run(self, run_id: int) -> int:
        """Pack the readings of a closed run, in one transaction; return how many were rows.

        They are read as before. Raises InputError for a run that is under way.
        """
        if self.run(run_id).ended_utc_ms is None:
            raise InputError(f"Run {run_id} is under way.", "Pack it when it is over.")
        with self._writing() as connection:
            ended = parts.of_run(connection, run_id)
            return sum(packed.pack_part(connection, part) for part in ended)

    def give_back_room(self) -> None:
        """Give the room of packed rows back to the disk; takes as much beside it meanwhile."""
        if self._engine.dialect.name != "sqlite":
            return
        with as_store_errors(self.where), self._engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert raw is not None
            raw.execute("VACUUM")
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _insert(
    connection: Connection, table: Table, boot_id: int, rows: Sequence[dict[str, Any]]
) -> None:
    if rows:
        kept = [{"boot_id": boot_id, **row} for row in rows]
        connection.execute(insert_new(connection, table), kept)
