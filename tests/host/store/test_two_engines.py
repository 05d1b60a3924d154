"""PostgreSQL as a second engine: equal answers to every question, several hosts at once.

Needs a server: see test_postgres.
"""

import multiprocessing
import os
import subprocess
from concurrent.futures import ProcessPoolExecutor

import pytest
from sqlalchemy import func, select

from snapgloss.base.errors import StoreBusy, StoreError
from snapgloss.base.records import Event
from snapgloss.store import open_store
from snapgloss.store.migrate import held_revision
from snapgloss.store.migrations import HEAD
from snapgloss.store.packed import pack_part
from snapgloss.store.tables import BOOTS, EVENTS, METADATA, READINGS

from .engines import new_database
from .filled import NEW, fill, identity, readings
from .questions import QUESTIONS, answers, names_of_questions


def test_no_question_is_forgotten():
    """Who adds a question to the store adds it to those that both engines are asked."""
    assert names_of_questions() == set(QUESTIONS)


def test_the_filled_record_has_something_in_every_table(store, clock):
    """An engine that forgot a table would be found out."""
    fill(store, clock)
    with store._engine.connect() as connection:
        counts = {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in METADATA.sorted_tables
        }
    assert len(counts) == 23
    assert min(counts.values()) > 0


@pytest.mark.server
def test_both_engines_answer_the_same(store, clock):
    """The same writes at the same moments; every question of the store, every answer equal."""
    began_ms = clock.utc_ms
    fill(store, clock)
    expected = list(answers(store))
    clock.utc_ms = began_ms
    with new_database() as url, open_store(url, clock) as other:
        fill(other, clock)
        found = list(answers(other))
    assert [one[:2] for one in found] == [one[:2] for one in expected]
    for (name, given, answer), (_name, _given, told) in zip(expected, found, strict=True):
        assert told == answer, f"{name}{given}"
        assert type(told) is type(answer)
    assert len(expected) > 120


@pytest.mark.server
def test_what_is_read_at_once_is_of_one_state():
    """A reader who is not done does not see half of what another host writes meanwhile."""
    with new_database() as url, open_store(url) as reader, open_store(url) as writer:
        boot = writer.boot_id(identity(1))
        run = writer.begin_run(NEW, boot, 0)
        with reader.at_once():
            before = reader.readings(run)
            writer.add_readings(boot, readings(0, 5))
            assert reader.readings(run) == before == []
        assert len(reader.readings(run)) == 5


def _host(url: str, number: int) -> int:
    """One host of several: opens the record, tells of a rig of its own and of one all share."""
    with open_store(url) as store:
        own, shared = store.boot_id(identity(100 + number)), store.boot_id(identity(7))
        run = store.begin_run(NEW, own, 0)
        for first in range(0, 200, 10):
            for boot in (own, shared):
                told = [Event(first, first * 1000, "step", 1, 0)]
                store.add_told(boot, readings(first, 10), told, [("events", 900, 901, "x")])
        store.add_note(run, f"host {number}")
        store.end_run(run, 199_000, "finished", "")
        store.save_figures(run, {"lowest_c": float(number)})
    return run


@pytest.mark.server
def test_several_hosts_write_at_once_and_each_rig_is_kept_once():
    """Four processes open an empty database at the same moment and write; what two of them tell
    of the same board, start and number is there once, and no run is lost or doubled."""
    spawned = multiprocessing.get_context("spawn")
    with new_database() as url:
        with ProcessPoolExecutor(4, spawned) as pool:
            runs = list(pool.map(_host, [url] * 4, range(4)))
        with open_store(url) as store, store._engine.connect() as connection:
            assert held_revision(connection) == HEAD
            count = select(func.count())
            assert connection.execute(count.select_from(READINGS)).scalar_one() == 5 * 200
            assert connection.execute(count.select_from(EVENTS)).scalar_one() == 5 * 20
            assert connection.execute(count.select_from(BOOTS)).scalar_one() == 5
            assert sorted(runs) == sorted(run.id for run in store.runs())
            assert all(store.readings(run) == readings(0, 200) for run in runs)
            assert {n.words for run in runs for n in store.notes(run)} == {
                f"host {number}" for number in range(4)
            }


@pytest.mark.server
def test_a_log_read_on_two_hosts_at_once_is_kept_once():
    """The second of two is told that it is there, though neither saw it when both began."""
    with new_database() as url:
        with ProcessPoolExecutor(3, multiprocessing.get_context("spawn")) as pool:
            said = list(pool.map(_read_log, [url] * 3))
        assert sorted(said) == ["InputError", "InputError", "kept"]


def _read_log(url: str) -> str:
    with open_store(url) as store:
        try:
            store.add_log(NEW, 5, 1_700_000_000_000, readings(0, 2000))
        except Exception as refused:
            return type(refused).__name__
    return "kept"


@pytest.mark.server
def test_packing_loses_nothing_that_comes_meanwhile(mocker):
    """A reading that another host writes between reading and deleting is not packed away: it is
    said, and all is as before."""
    with new_database() as url, open_store(url) as store, open_store(url) as other:
        boot = store.boot_id(identity(1))
        run = store.begin_run(NEW, boot, 0)
        store.add_readings(boot, readings(0, 20))
        store.end_run(run, 99_000, "finished", "")
        part = store.parts(run)[0]

        def meanwhile(found):
            other.add_readings(boot, readings(20, 1))
            return b""

        mocker.patch("snapgloss.store.packed.pack", meanwhile)
        with pytest.raises(StoreBusy), store._writing() as connection:
            pack_part(connection, part)
        assert store.readings(run) == readings(0, 21)


@pytest.mark.server
def test_a_server_that_was_started_anew_is_found_again():
    """Connections that died with the server are replaced; the first call after it is served."""
    with new_database() as url, open_store(url) as store:
        boot = store.boot_id(identity(1))
        with open_store(url) as other, other._writing() as connection:
            connection.exec_driver_sql(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> "
                "pg_backend_pid() AND datname = current_database()"
            )
        store.add_readings(boot, readings(0, 3))
        assert store.last_seq(boot) == (2, -1)


@pytest.mark.server
def test_a_database_without_all_letters_is_refused():
    """One that keeps bytes and calls them text would give back other names."""
    form = "CREATE DATABASE {} TEMPLATE template0 ENCODING 'SQL_ASCII' LOCALE 'C'"
    with new_database(form) as url, pytest.raises(StoreError, match="keeps text as SQL_ASCII"):
        open_store(url)


@pytest.mark.server
def test_the_commands_keep_their_record_there(tmp_path):
    """`try` with SNAPGLOSS_RECORD writes to the server, `runs` lists it from there, and the data
    folder gets no record of its own."""
    with new_database() as url:
        named = {**os.environ, "SNAPGLOSS_RECORD": url, "SNAPGLOSS_DATA": str(tmp_path)}
        for command in ("try --mass 500g --json", "runs --json"):
            done = subprocess.run(
                ["snapgloss", *command.split()], env=named, capture_output=True, text=True,
                check=False,
            )  # fmt: skip
            assert done.returncode == 0, done.stderr
        assert '"chocolate": "Lantern 72"' in done.stdout
        with open_store(url) as store:
            assert [run.outcome for run in store.runs()] == ["finished"]
    assert not list(tmp_path.glob("*.sqlite3"))
