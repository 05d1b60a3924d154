"""A batch whose record is on a server that is away for a while. Needs one: see test_postgres."""

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs import connect
from snapgloss.runs.batch import run_batch
from snapgloss.runs.patience import FREE_AGAIN, HELD
from snapgloss.store import open_store

from ..store.engines import new_database
from .test_batch import Watcher, finish

AWAY_S = 25.0


class Door:
    """Lets hosts in to a database, or throws them out and lets nobody in."""

    def __init__(self, url: str) -> None:
        self._name = make_url(url).database
        there = make_url(url).set(database="postgres")
        self._server = create_engine(there, isolation_level="AUTOCOMMIT")

    def set(self, is_open: bool) -> None:
        """Open it, or close it."""
        with self._server.connect() as connection:
            connection.execute(
                text(f"ALTER DATABASE {self._name} ALLOW_CONNECTIONS {str(is_open).lower()}")
            )
            if not is_open:
                connection.execute(
                    text(
                        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname=:n"
                    ),
                    {"n": self._name},
                )

    def close(self) -> None:
        """Open it for good."""
        self.set(True)
        self._server.dispose()


@pytest.mark.server
def test_a_server_that_is_away_for_25_s_loses_nothing(plan):
    """From the press on it throws everybody out; the batch goes on, is told once, and all of it
    is written when the server is back."""
    rig, watch = ScriptedRig(), Watcher()
    clock = ScriptedClock(rig)
    with new_database() as url, open_store(url) as store:
        door = Door(url)

        def pressed() -> None:
            finish(rig)
            door.set(False)

        rig.then["ask_start"] = pressed
        link = connect.introduce(rig, clock)
        let_pass = link.let_pass

        def wait(wait_s: float) -> None:
            let_pass(wait_s)
            if clock.at_s >= AWAY_S:
                door.set(True)

        link.let_pass = wait
        try:
            result = run_batch(plan, link, store, watch)
        finally:
            link.close()
            door.close()
        assert (result.run_id, result.outcome) == (1, "finished")
        assert len(store.readings(1)) == 122
        said = [words for _, words in watch.lines]
        assert (said.count(HELD), said.count(FREE_AGAIN)) == (1, 1)
        assert clock.at_s >= AWAY_S
