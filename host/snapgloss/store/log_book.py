"""Runs that no rig told: read from a logger's file, in one transaction."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Select, func, insert, select

from snapgloss.base.errors import InputError
from snapgloss.base.records import OWN_SEQ, Event, Reading
from snapgloss.store import parts
from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import NewRun
from snapgloss.store.tables import BOOTS, EVENTS, READINGS, RUN_PARTS, RUNS

LOGGER = "logger"
REPLACED = "replaced"
"""Kind of the event that says, in a run read from a log, which run stands instead of it: `a`."""
CLOCK_UNSURE = "clock_unsure"
"""Kind of the event that says, in a run read from a log, that its clock may have jumped there."""
ZONES_MOST_MS = 24 * 3_600_000
_SUM_BITS = 32
"""A log that is read again is another boot: above its check sum is how often it was before."""


def replaced() -> Select[int]:
    """The runs that another stands instead of; only those from logs can be."""
    return _told_of_logs(REPLACED)


def _told_of_logs(kind: str) -> Select[int]:
    """The runs from logs with an event of that kind."""
    runs = select(RUN_PARTS.c.run_id).join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
    told = runs.join(EVENTS, EVENTS.c.boot_id == BOOTS.c.id)
    return told.where(BOOTS.c.board == LOGGER, EVENTS.c.kind == kind)


class LogBook(OpenRecord):
    """The part of the store that takes logs."""

    def add_log(
        self, new: NewRun, check_sum: int, began_utc_ms: int, readings: Sequence[Reading],
        events: Sequence[Event] = (), instead: int | None = None,
    ) -> int:  # fmt: skip
        """Keep a finished run with all its readings (`at_ms` from 0) and events, or nothing; give
        its number.

        `instead`: the run from a log that this one replaces; its readings stay. Raises InputError
        when a log with this check sum or these readings is in the record already, for a run that
        cannot be replaced, and for a log of days to come.
        """
        end_ms = readings[-1].at_ms
        _refuse_future(began_utc_ms + end_ms, self._clock_utc_ms())
        run, boot = _log_rows(new, began_utc_ms, end_ms, self._clock_utc_ms())
        if instead is not None:
            self._check_replaceable(instead)
        with self._writing() as connection:
            _refuse_held(connection, check_sum, began_utc_ms, readings, instead)
            boot["boot_nonce"] = check_sum + (_times_read(connection, check_sum) << _SUM_BITS)
            boot_key = connection.execute(insert(BOOTS).values(boot)).inserted_primary_key
            run_key = connection.execute(insert(RUNS).values(run)).inserted_primary_key
            assert boot_key is not None and run_key is not None
            part = {"run_id": run_key[0], "part_no": 0, "boot_id": boot_key[0], "start_ms": 0,
                    "end_ms": end_ms, "begun_utc_ms": began_utc_ms}  # fmt: skip
            connection.execute(insert(RUN_PARTS), part)
            rows = [{"boot_id": boot_key[0], **reading._asdict()} for reading in readings]
            connection.execute(insert(READINGS), rows)
            if events:
                told = [{"boot_id": boot_key[0], **event._asdict()} for event in events]
                connection.execute(insert(EVENTS), told)
            if instead is not None:
                _say_replaced(connection, instead, int(run_key[0]))
        return int(run_key[0])

    def logs(self) -> set[int]:
        """The runs that were read from a logger's file."""
        wanted = select(RUN_PARTS.c.run_id).join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
        with self._reading() as connection:
            return set(connection.execute(wanted.where(BOOTS.c.board == LOGGER)).scalars())

    def unsure_clocks(self) -> set[int]:
        """The runs from logs whose clock may have jumped: no figure of theirs is sure."""
        with self._reading() as connection:
            return set(connection.execute(_told_of_logs(CLOCK_UNSURE)).scalars())

    def replaced_by(self) -> dict[int, int]:
        """The runs that were read from a log wrongly, and which run stands instead of each."""
        with self._reading() as connection:
            rows = connection.execute(replaced().add_columns(EVENTS.c.a)).all()
        return {int(run_id): int(by) for run_id, by in rows}

    def _check_replaceable(self, run_id: int) -> None:
        self.run(run_id)
        if run_id not in self.logs():
            raise InputError(f"Run {run_id} is not from a log.", "Only a log is read again.")
        by = self.replaced_by().get(run_id)
        if by is not None:
            raise InputError(f"Run {run_id} was replaced already.", f"Run {by} stands instead.")

    def set_words(self, run_id: int, words: str) -> None:
        """Say in a sentence how a run that was read from a log went."""
        with self._writing() as connection:
            connection.execute(RUNS.update().where(RUNS.c.id == run_id).values(words=words))


def _refuse_future(end_utc_ms: int, now_utc_ms: int) -> None:
    """A zone that is not the computer's own may put the end of a log up to a day ahead."""
    if end_utc_ms > now_utc_ms + ZONES_MOST_MS:
        ends = datetime.fromtimestamp(end_utc_ms / 1000, UTC)
        raise InputError(
            f"This log ends on {ends:%Y-%m-%d}, which is yet to come.",
            "Read its day again, or put this computer's clock right.",
        )


def _refuse_held(
    connection: Connection, check_sum: int, began_utc_ms: int, readings: Sequence[Reading],
    instead: int | None,
) -> None:  # fmt: skip
    """A log is there already when its file is, or its readings: one line more makes no other."""
    held = (
        select(RUN_PARTS.c.run_id, BOOTS.c.boot_nonce, RUN_PARTS.c.begun_utc_ms)
        .join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
        .where(BOOTS.c.board == LOGGER, RUN_PARTS.c.run_id.not_in(replaced()))
        .order_by(RUN_PARTS.c.run_id)
    )
    for number, nonce, begun_utc_ms in connection.execute(held).all():
        if number == instead:
            continue
        same = nonce % 2**_SUM_BITS == check_sum
        if same or (begun_utc_ms == began_utc_ms and _has(connection, number, readings)):
            raise InputError(
                f"This log is in the record already: run {number}.",
                f"See it: snapgloss show {number}. Was it read wrongly? Add --instead {number}.",
            )


def _has(connection: Connection, run_id: int, readings: Sequence[Reading]) -> bool:
    kept = parts.readings(connection, parts.of_run(connection, run_id)[0])
    return [(r.at_ms, r.product_mc) for r in kept] == [(r.at_ms, r.product_mc) for r in readings]


def _times_read(connection: Connection, check_sum: int) -> int:
    same = (BOOTS.c.board == LOGGER) & (BOOTS.c.boot_nonce % 2**_SUM_BITS == check_sum)
    return int(connection.execute(select(func.count()).where(same)).scalar_one())


def _say_replaced(connection: Connection, run_id: int, by_run_id: int) -> None:
    part = parts.of_run(connection, run_id)[0]
    told = {"boot_id": part.boot_id, "seq": OWN_SEQ, "at_ms": part.end_ms, "kind": REPLACED,
            "a": by_run_id, "b": 0}  # fmt: skip
    connection.execute(insert(EVENTS), told)


def _log_rows(
    new: NewRun, began_utc_ms: int, end_ms: int, now_utc_ms: int
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The rows of a finished run and of the logger that stands in the place of its board."""
    run = {
        **new._asdict(), "started_utc_ms": began_utc_ms, "ended_utc_ms": began_utc_ms + end_ms,
        "outcome": "finished", "words": "",
    }  # fmt: skip
    boot = {
        "board": LOGGER, "firmware": "", "simulated": False, "first_seen_utc_ms": now_utc_ms,
        "heater_w": None,
    }  # fmt: skip
    return run, boot
