"""Runs that no rig told: read from a logger's file, in one transaction."""

from collections.abc import Sequence

from sqlalchemy import insert, select

from snapgloss.base.errors import InputError
from snapgloss.base.records import Event, Reading
from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import NewRun
from snapgloss.store.tables import BOOTS, EVENTS, READINGS, RUN_PARTS, RUNS

LOGGER = "logger"


class LogBook(OpenRecord):
    """The part of the store that takes logs."""

    def add_log(
        self, new: NewRun, check_sum: int, began_utc_ms: int, readings: Sequence[Reading],
        events: Sequence[Event] = (),
    ) -> int:  # fmt: skip
        """Keep a finished run with all its readings (`at_ms` from 0) and events, or nothing; give
        its number.

        Raises InputError when a log with this check sum is in the record already.
        """
        same = (BOOTS.c.board == LOGGER) & (BOOTS.c.boot_nonce == check_sum)
        end_ms = readings[-1].at_ms
        run = {
            **new._asdict(),
            "started_utc_ms": began_utc_ms,
            "ended_utc_ms": began_utc_ms + end_ms,
            "outcome": "finished",
            "words": "",
        }
        boot = {
            "board": LOGGER, "boot_nonce": check_sum, "firmware": "", "simulated": False,
            "first_seen_utc_ms": self._clock_utc_ms(), "heater_w": None,
        }  # fmt: skip
        held = select(RUN_PARTS.c.run_id).join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
        with self._writing() as connection:
            number = connection.execute(held.where(same)).scalar()
            if number is not None:
                raise InputError(
                    f"This log is in the record already: run {number}.", "See it: snapgloss show."
                )
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
        return int(run_key[0])

    def logs(self) -> set[int]:
        """The runs that were read from a logger's file."""
        wanted = select(RUN_PARTS.c.run_id).join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
        with self._reading() as connection:
            return set(connection.execute(wanted.where(BOOTS.c.board == LOGGER)).scalars())

    def set_words(self, run_id: int, words: str) -> None:
        """Say in a sentence how a run that was read from a log went."""
        with self._writing() as connection:
            connection.execute(RUNS.update().where(RUNS.c.id == run_id).values(words=words))
