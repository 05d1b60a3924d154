"""A record on a full disk: what is there is read, and what cannot be written is told by its cause.

The disk is a small tmpfs, filled to the brim, where this process may mount one (CI is root).
Elsewhere a layer stands in for it: SQLite says of its shared memory what it says on a full disk,
and the folder takes nothing.
"""

import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

import pytest

from snapgloss.base.errors import StoreError
from snapgloss.store import engine as engines
from snapgloss.store import failures, open_store, opening, room

DISK_BYTES = 4_000_000


class Disk(Protocol):
    """A disk that can be filled."""

    folder: Path

    def fill(self, left_bytes: int) -> None:
        """Leave so much room, and no more."""
        ...


class SmallDisk:
    """A tmpfs of DISK_BYTES."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def fill(self, left_bytes: int) -> None:
        """Put a file beside the record."""
        free_bytes = shutil.disk_usage(self.folder).free
        (self.folder / "filler").write_bytes(bytes(free_bytes - left_bytes))


class Layer:
    """Between the store and a disk with room: it refuses as a full one does."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self._patch = folder, monkeypatch

    def fill(self, left_bytes: int) -> None:
        """From now on there is no room for SQLite's shared memory."""

        def refuse(_connection: object, _record: object) -> None:
            fault = sqlite3.OperationalError("disk I/O error")
            fault.sqlite_errorname = "SQLITE_IOERR_SHMSIZE"
            raise fault

        self._patch.setattr(engines, "_set_up", refuse)
        for module in (opening, failures):
            self._patch.setattr(module, "lacks_room", lambda _folder: True)


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Disk]:
    """A small disk of its own, or what stands in for one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES}", "tmpfs", str(folder)]
    try:
        is_mounted = subprocess.run(mount, capture_output=True, check=False).returncode == 0
    except OSError:
        is_mounted = False
    if not is_mounted:
        yield Layer(folder, monkeypatch)
        return
    yield SmallDisk(folder)
    subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.parametrize("left_bytes", [0, 10_000, 20_000])
def test_a_full_disk_is_read_and_named(disk, identity, new_run, left_bytes):
    """Without room for SQLite's own memory: a reader sees all, a writer hears that it is full."""
    data = disk.folder / "data"
    with open_store(data) as store:
        run = store.begin_run(new_run, store.boot_id(identity()), 0)
    disk.fill(left_bytes)
    with open_store(data, to_read=True) as store:
        assert [row.id for row in store.runs()] == [run]
        with pytest.raises(StoreError):
            store.add_note(run, "calm")
    with pytest.raises(StoreError, match="has no room left on its disk") as caught:
        open_store(data)
    assert "Free some space" in caught.value.remedy


def test_what_a_killed_batch_left_in_its_log_is_read_too(disk, identity, new_run, reading):
    """The newest rows are still in the write-ahead log, beside a disk that is full: they count."""
    source, data = disk.folder / "source", disk.folder / "data"
    with open_store(source) as store:
        boot = store.boot_id(identity())
        run = store.begin_run(new_run, boot, 0)
        store.add_readings(boot, [reading(n) for n in range(30)])
        data.mkdir()
        for name in (engines.FILE_NAME, f"{engines.FILE_NAME}-wal"):
            shutil.copy(source / name, data / name)
    shutil.rmtree(source)
    assert (data / f"{engines.FILE_NAME}-wal").stat().st_size > 0
    disk.fill(0)
    for _again in range(2):
        with open_store(data, to_read=True) as store:
            assert len(store.readings(run)) == 30


def test_a_fault_of_a_disk_with_room_is_told_as_one():
    """SQLite says the same of a bad cable: only a disk without room is called full."""
    fault = sqlite3.OperationalError("disk I/O error")
    fault.sqlite_errorname = "SQLITE_IOERR_READ"
    assert "reported a fault" in str(failures.store_error(fault, "/nowhere/record.sqlite3"))


def test_room_is_asked_for_and_given_back(tmp_path, monkeypatch):
    """A folder with room lacks none, and keeps nothing of the question; a quota counts as full."""
    assert not room.lacks_room(tmp_path)
    assert list(tmp_path.iterdir()) == []
    assert not room.lacks_room(tmp_path / "not there")

    def refuse(**_how: object) -> None:
        raise OSError(room.errno.EDQUOT, "quota")

    monkeypatch.setattr(room.tempfile, "TemporaryFile", refuse)
    assert room.lacks_room(tmp_path)
