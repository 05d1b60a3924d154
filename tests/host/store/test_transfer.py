"""A record copied from its file into PostgreSQL: whole, verified, continued, nothing mixed.

Needs a server: see test_postgres.
"""

import hashlib
import os
import subprocess
import sys

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from snapgloss.base.errors import InputError, StoreError
from snapgloss.store import open_store, transfer
from snapgloss.store.tables import METADATA
from snapgloss.store.transfer import copy_record
from snapgloss.store.transfer_lines import sum_of

from .engines import new_database
from .filled import NEW, fill, identity, readings
from .questions import answers


def quiet(_table: str, _done: int, _total: int) -> None:
    """Nobody is told."""


@pytest.fixture
def target(clock):
    """An empty record on the server."""
    with new_database() as url, open_store(url, clock) as opened:
        yield opened


def put(store, sql: str) -> int:
    """Change a record behind its back; give how many rows."""
    with store._writing() as connection:
        return connection.exec_driver_sql(sql).rowcount


def test_the_sum_is_of_the_first_seven_bytes_of_each_md5():
    """As anybody can work out: MD5 of "abc" begins 900150983cd24f (RFC 1321, A.5)."""
    assert hashlib.md5(b"abc").hexdigest().startswith("900150983cd24f")
    assert sum_of(["abc", "abc"]) == 2 * 0x900150983CD24F


def test_only_a_file_is_copied_and_only_to_a_server(store, tmp_path):
    """Two files are for the file manager."""
    with open_store(tmp_path / "other") as other, pytest.raises(InputError, match="to a Postgre"):
        copy_record(store, other, quiet)


@pytest.mark.server
def test_a_copy_answers_every_question_as_the_record_does(store, target, clock):
    """Packed readings, odd letters, figures of all sizes and missing values among them."""
    fill(store, clock)
    told = []
    copied = copy_record(store, target, lambda *one: told.append(one))
    assert list(answers(target)) == list(answers(store))
    assert {one.table for one in copied} == set(METADATA.tables)
    assert all(one.rows == one.added > 0 for one in copied)
    assert all(done == total for _table, done, total in told)
    with target._engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []


@pytest.mark.server
def test_a_character_that_no_server_keeps_is_replaced(store, target, clock):
    """A NUL in a text of an old record becomes U+FFFD; the rest of that text is there."""
    fill(store, clock)
    put(store, "UPDATE console SET text = 'before' || char(0) || 'after'")
    copy_record(store, target, quiet)
    assert target.console(1) == ["before\ufffdafter"]
    assert not any(one.added for one in copy_record(store, target, quiet))


@pytest.mark.server
def test_a_second_copy_adds_what_came_since(store, target, clock):
    """Nothing, then a closed run, figures anew, and an earlier boot's late readings."""
    fill(store, clock)
    first = copy_record(store, target, quiet)
    again = copy_record(store, target, quiet)
    assert [one._replace(added=0) for one in first] == again
    store.end_run(4, 30_000, "finished", "")
    store.save_figures(4, {"lowest_c": 28.0})
    store.save_figures(1, {"lowest_c": 27.4, "minutes_working": 3.0, "Überlauf": None})
    store.add_readings(1, readings(71, 5))
    added = {one.table: one.added for one in copy_record(store, target, quiet) if one.added}
    assert added == {"readings": 5, "figures": 1}
    assert list(answers(target)) == list(answers(store))


@pytest.mark.server
@pytest.mark.parametrize("after", [2, 14, 40, 90])
def test_a_copy_that_was_broken_off_is_continued(store, target, clock, mocker, after):
    """Wherever it ended: what came is kept, the rest follows, and all is verified."""
    fill(store, clock)
    mocker.patch.object(transfer, "ROWS", 7)
    told = []

    def tell(*one):
        told.append(one)
        if len(told) == after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        copy_record(store, target, tell)
    copied = copy_record(store, target, quiet)
    there = sum(one.rows - one.added for one in copied)
    assert there >= after
    assert list(answers(target)) == list(answers(store))
    with target._engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []


@pytest.mark.server
def test_a_target_with_other_runs_is_refused_and_stays_as_it_was(store, target, clock):
    """Two records are never mixed."""
    fill(store, clock)
    boot = target.boot_id(identity(999, "elsewhere"))
    run = target.begin_run(NEW, boot, 0)
    before = list(answers(target))
    with pytest.raises(StoreError, match=r"other data than this record, in its table boots\."):
        copy_record(store, target, quiet)
    assert list(answers(target)) == before
    assert [one.id for one in target.runs()] == [run]


@pytest.mark.server
@pytest.mark.parametrize(
    ("behind_its_back", "table"),
    [
        ("UPDATE readings SET product_mc = product_mc + 1 WHERE seq = 9", "readings"),
        ("INSERT INTO notes (run_id, written_utc_ms, words) VALUES (1, 0, 'ours')", "notes"),
        ("UPDATE curves SET set_ratio = set_ratio + 1e-16 WHERE id = 1", "curves"),
        ("UPDATE packed SET content = content || '!'::bytea", "packed"),
        ("UPDATE runs SET outcome = 'off', ended_utc_ms = 5 WHERE id = 4", "runs"),
        ("UPDATE runs SET digest = 'other' WHERE id = 1", "runs"),
    ],
)
def test_a_row_that_is_not_as_here_is_found(store, target, clock, behind_its_back, table):
    """One value in one row, a row too many, a run that ended there alone: said with its table,
    and what stands there stays."""
    fill(store, clock)
    copy_record(store, target, quiet)
    assert put(target, behind_its_back) >= 1
    before = list(answers(target))
    with pytest.raises(StoreError, match=rf"in its table {table}\."):
        copy_record(store, target, quiet)
    assert list(answers(target)) == before


@pytest.mark.server
def test_rows_that_were_lost_there_come_again(store, target, clock):
    """In the midst of a table and at its end."""
    fill(store, clock)
    copy_record(store, target, quiet)
    assert put(target, "DELETE FROM readings WHERE seq IN (3, 4, 59)") > 3
    assert put(target, "DELETE FROM events WHERE seq > 15") == 8
    added = {one.table: one.added for one in copy_record(store, target, quiet) if one.added}
    assert added["events"] == 8
    assert list(answers(target)) == list(answers(store))


@pytest.mark.server
def test_batches_go_on_there(store, target, clock):
    """New runs, notes and boots get numbers of their own after those that were copied."""
    fill(store, clock)
    copy_record(store, target, quiet)
    boot = target.boot_id(identity(999))
    run = target.begin_run(NEW, boot, 0)
    assert run == max(one.id for one in store.runs(with_replaced=True)) + 1
    target.add_note(run, "first there")
    assert [one.words for one in target.notes(run)] == ["first there"]


@pytest.mark.server
def test_one_copy_at_a_time(store, target, clock):
    """The second of two is told; it writes nothing."""
    fill(store, clock)
    seen = []

    def tell(*_one):
        if not seen:
            with pytest.raises(StoreError, match="Another copy into") as refused:
                copy_record(store, target, quiet)
            seen.append(refused)

    copy_record(store, target, tell)
    assert seen
    assert not any(one.added for one in copy_record(store, target, quiet))


@pytest.mark.server
def test_the_command_copies_to_the_address_in_the_environment(store, clock, tmp_path):
    """As a shop does it: the address with its password is in no command line."""
    fill(store, clock)
    with new_database() as url:
        named = {**os.environ, "SNAPGLOSS_RECORD": url}
        command = [sys.executable, "-m", "snapgloss", "--data", str(tmp_path / "data"), "copy"]
        first, again = (
            subprocess.run(command, env=named, capture_output=True, text=True, check=False)
            for _ in range(2)
        )
        assert (first.returncode, again.returncode) == (0, 0), first.stderr + again.stderr
        with open_store(url, clock) as target:
            assert list(answers(target)) == list(answers(store))
    assert "all tables are the same on both sides" in first.stdout
    counted = [line.split() for line in again.stdout.splitlines() if " rows " in line]
    assert len(counted) == len(METADATA.tables)
    assert {words[3] for words in counted} == {"0"}
