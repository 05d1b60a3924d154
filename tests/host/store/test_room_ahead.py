"""The log of a live record is made long once: commits write over it, and nothing is lost by it."""

import os
import shutil

from snapgloss.base.errors import StoreBusy
from snapgloss.runs.recorder import Recorder
from snapgloss.store import open_store, room_ahead
from snapgloss.store.engine import FILE_NAME

LOG = f"{FILE_NAME}-wal"


def test_live_commits_never_make_the_log_longer(store, tmp_path, identity, reading):
    """A recorder makes it long; over 300 commits it keeps its length; every reading is there."""
    boot, log = store.boot_id(identity()), tmp_path / "data" / LOG
    assert log.stat().st_size < room_ahead.LOG_BYTES
    Recorder(store, boot, 0.0)
    lengths = set()
    for n in range(300):
        store.add_told(boot, [reading(n)], [], [])
        lengths.add(log.stat().st_size)
    assert lengths == {room_ahead.LOG_BYTES}
    assert store.last_seq(boot)[0] == 299


def test_checkpoints_do_not_make_it_longer_either(store, tmp_path, identity, reading):
    """2,000 commits are more than the log holds: SQLite begins it again, at the same length."""
    boot = store.boot_id(identity())
    store.take_room()
    for n in range(0, 20_000, 10):
        store.add_told(boot, [reading(n + k) for k in range(10)], [], [])
    assert (tmp_path / "data" / LOG).stat().st_size == room_ahead.LOG_BYTES
    assert store.last_seq(boot)[0] == 19_999


def test_what_a_killed_program_left_is_read_whole(store, tmp_path, identity, new_run, reading):
    """Record and log as they lie there after each commit, with zeros at its end, are recovered."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    store.take_room()
    for n in range(5):
        store.add_told(boot, [reading(n)], [], [])
        left = tmp_path / f"left-{n}"
        left.mkdir()
        for name in (FILE_NAME, LOG):
            shutil.copy(tmp_path / "data" / name, left / name)
        with open_store(left) as again:
            assert [r.seq for r in again.readings(run)] == list(range(n + 1))


def test_a_log_that_was_just_made_is_recovered_too(store, tmp_path, identity, reading):
    """Killed between taking room and the first frame: a log of zeros is an empty one."""
    boot = store.boot_id(identity())
    store.add_told(boot, [reading(0)], [], [])
    with store._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    left = tmp_path / "left"
    left.mkdir()
    shutil.copy(tmp_path / "data" / FILE_NAME, left / FILE_NAME)
    (left / LOG).write_bytes(bytes(room_ahead.LOG_BYTES))
    with open_store(left) as again:
        assert again.last_seq(boot)[0] == 0


def test_without_room_the_log_stays_as_it_was(store, tmp_path, identity, reading, monkeypatch):
    """A disk that is nearly full: nothing is left half long, and commits go on."""
    boot, log = store.boot_id(identity()), tmp_path / "data" / LOG
    real, calls = os.write, []

    def full(handle: int, content: bytes) -> int:
        calls.append(len(content))
        if len(calls) == 1:
            return real(handle, content[:200_000])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(room_ahead.os, "write", full)
    before = log.stat().st_size
    store.take_room()
    assert log.stat().st_size == before
    store.add_told(boot, [reading(0)], [], [])
    assert len(calls) == 2
    assert store.last_seq(boot)[0] == 0


def test_a_record_that_is_held_is_no_hindrance(store, identity, reading, monkeypatch):
    """Another program has it as a batch begins: no room is taken, and nothing is raised."""

    def held() -> None:
        raise StoreBusy("Another program uses the record.", "Close it.")

    monkeypatch.setattr(store, "take_room", held)
    recorder = Recorder(store, store.boot_id(identity()), 0.0)
    recorder.add(reading(0))
    recorder.flush(1.0)
    assert store.last_seq(1)[0] == 0
