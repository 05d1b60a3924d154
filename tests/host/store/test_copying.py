"""A backup is whole, checked, of one moment, and never written over another."""

import os
import sqlite3
from contextlib import closing

import pytest

from snapgloss.base.errors import InputError, StoreBusy, StoreError, VersionError
from snapgloss.store import copying, open_store
from snapgloss.store.aside import beside, held, put_in_place
from snapgloss.store.copying import checked
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.restoring import restored


@pytest.fixture
def filled(store, identity, reading, event, new_run):
    """A record of one run: 300 readings, 3 events, 2 notes, 1 grade."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    store.add_told(boot, [reading(n) for n in range(300)], [event(n) for n in range(3)], [])
    store.add_note(run, "calm")
    store.add_note(run, "thick at the end")
    store.add_grade(run, "sell", [], None, "")
    return store


HELD = ("0009", 1, 300, 3, 2, 1)


def test_a_backup_holds_what_the_record_holds(filled, tmp_path):
    """Counts of the copy itself; opened as a record it has the same rows."""
    target = tmp_path / "away" / FILE_NAME
    assert filled.copy_to(target) == HELD
    assert [path.name for path in target.parent.iterdir()] == [FILE_NAME]
    with open_store(target.parent) as copy:
        assert copy.readings(1) == filled.readings(1)
        assert copy.notes(1) == filled.notes(1)


def test_packed_readings_are_counted(filled, tmp_path):
    """Their block's own number, after its check sum."""
    filled.end_run(1, 10**6, "finished", "")
    assert filled.pack_run(1) == 300
    assert filled.copy_to(tmp_path / "b.sqlite3") == HELD


def test_the_copy_is_of_one_moment_while_another_writes(
    filled, tmp_path, monkeypatch, identity, reading
):
    """What is written once the copy has begun is kept in the record and is not in the copy; the
    writer does not wait."""
    real = copying._write

    def slow(source, draft):
        source.execute("BEGIN")
        source.execute("SELECT count(*) FROM readings").fetchone()
        filled.add_told(1, [reading(n) for n in range(300, 310)], [], [])
        real(source, draft)

    monkeypatch.setattr(copying, "_write", slow)
    assert filled.copy_to(tmp_path / "b.sqlite3").readings == 300
    assert filled.last_seq(1)[0] == 309


def test_nothing_is_written_over(filled, tmp_path):
    """A file that is there is left as it was, and so is one that comes in the meantime."""
    target = tmp_path / "b.sqlite3"
    target.write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        filled.copy_to(target)
    assert target.read_text() == "mine"
    draft = tmp_path / "draft"
    draft.write_text("copy")
    with pytest.raises(FileExistsError):
        copying._name(draft, target)
    assert target.read_text() == "mine"


def test_a_disk_without_second_names_takes_a_backup_too(filled, tmp_path, monkeypatch):
    """Such as a stick: the draft is renamed."""

    def refuse(*_names):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(copying.os, "link", refuse)
    assert filled.copy_to(tmp_path / "b.sqlite3") == HELD
    assert checked(tmp_path / "b.sqlite3") == HELD


def test_a_disk_that_is_full_is_named_and_nothing_is_left(filled, tmp_path, monkeypatch):
    """No half backup, no draft."""

    def full(_path):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(copying, "sync_file", full)
    with pytest.raises(StoreError, match="No space left"):
        filled.copy_to(tmp_path / "away" / "b.sqlite3")
    assert list((tmp_path / "away").iterdir()) == []


def test_a_damaged_record_makes_no_backup(filled, tmp_path):
    """The copy is checked before it has its name."""
    with filled._engine.connect() as connection:
        raw = connection.connection.driver_connection
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = tmp_path / "data" / FILE_NAME
    with path.open("r+b") as file:
        file.seek(path.stat().st_size - 4096)
        file.write(b"\xa5" * 4096)
    filled._engine.dispose()
    with pytest.raises(StoreError, match="damaged"):
        filled.copy_to(tmp_path / "b.sqlite3")
    assert not (tmp_path / "b.sqlite3").exists()


def test_what_is_no_backup_is_refused(tmp_path):
    """No file, no database, another program's database, one of a newer form."""
    with pytest.raises(InputError, match="There is no file"):
        checked(tmp_path / "none")
    text = tmp_path / "text"
    text.write_text("shopping list\n" * 100)
    with pytest.raises(StoreError, match="not a snapgloss database"):
        checked(text)
    other = tmp_path / "other.sqlite3"
    with closing(sqlite3.connect(other)) as raw:
        raw.execute("CREATE TABLE readings (a)")
    with pytest.raises(StoreError, match="is no record of snapgloss"):
        checked(other)
    with closing(sqlite3.connect(other)) as raw, raw:
        raw.execute("CREATE TABLE alembic_version (version_num TEXT)")
        raw.execute("INSERT INTO alembic_version VALUES ('0999')")
    with pytest.raises(VersionError, match="newer snapgloss"):
        checked(other)


def test_a_value_of_another_kind_is_found_by_a_thorough_check(filled, tmp_path):
    """SQLite's own check passes it over."""
    filled.copy_to(tmp_path / "b.sqlite3")
    with closing(sqlite3.connect(tmp_path / "b.sqlite3")) as raw, raw:
        raw.execute("UPDATE readings SET product_mc = x'01' WHERE seq = 7")
    assert checked(tmp_path / "b.sqlite3") == HELD
    with pytest.raises(StoreError, match="is damaged"):
        checked(tmp_path / "b.sqlite3", thorough=True)


def test_a_restored_backup_is_the_record_and_the_other_is_set_aside(filled, tmp_path):
    """Both are whole; nothing else is left in the folder."""
    filled.copy_to(tmp_path / "b.sqlite3")
    filled.add_note(1, "after the backup")
    filled.close()
    found = restored(tmp_path / "data", tmp_path / "b.sqlite3")
    assert found.counted == HELD
    assert found.set_aside is not None
    assert checked(found.set_aside, thorough=True)[1:] == (1, 300, 3, 3, 1)
    with open_store(tmp_path / "data") as store:
        assert [note.words for note in store.notes(1)] == ["calm", "thick at the end"]
    names = {path.name for path in (tmp_path / "data").iterdir()}
    assert names == {FILE_NAME, found.set_aside.name}


def test_a_record_that_is_open_is_not_replaced(filled, tmp_path):
    """Another program has it: nothing happens, and that program goes on."""
    filled.copy_to(tmp_path / "b.sqlite3")
    before = sorted(path.name for path in (tmp_path / "data").iterdir())
    with pytest.raises(StoreBusy, match="in use"):
        restored(tmp_path / "data", tmp_path / "b.sqlite3")
    assert sorted(path.name for path in (tmp_path / "data").iterdir()) == before
    filled.add_note(1, "still here")


def test_a_damaged_backup_replaces_nothing(filled, tmp_path):
    """It is read from end to end before anything is touched."""
    filled.copy_to(tmp_path / "b.sqlite3")
    filled.close()
    content = bytearray((tmp_path / "b.sqlite3").read_bytes())
    content[-4096:] = b"\xa5" * 4096
    (tmp_path / "b.sqlite3").write_bytes(content)
    with pytest.raises(StoreError, match="damaged"):
        restored(tmp_path / "data", tmp_path / "b.sqlite3")
    assert checked(tmp_path / "data" / FILE_NAME) == HELD


def test_into_an_empty_folder(filled, tmp_path):
    """A new computer: there was no record, so none is set aside."""
    filled.copy_to(tmp_path / "b.sqlite3")
    found = restored(tmp_path / "new", tmp_path / "b.sqlite3")
    assert (found.counted, found.set_aside) == (HELD, None)


def test_a_copy_with_its_log_beside_it_is_read_with_it(filled, tmp_path, reading):
    """Files copied by hand: what the log holds counts."""
    for end in ("", "-wal"):
        source = tmp_path / "data" / f"{FILE_NAME}{end}"
        (tmp_path / f"by-hand.sqlite3{end}").write_bytes(source.read_bytes())
    assert restored(tmp_path / "new", tmp_path / "by-hand.sqlite3").counted == HELD


@pytest.mark.parametrize("fails_at", range(4))
def test_a_cut_while_it_is_replaced_leaves_a_whole_record(filled, tmp_path, monkeypatch, fails_at):
    """Dead at any of its steps: under its name, or the other, each thing is still there."""
    filled.copy_to(tmp_path / "b.sqlite3")
    filled.close()
    record, steps = tmp_path / "data" / FILE_NAME, [0]

    def dying(real):
        def step(*given, **how):
            if steps[0] == fails_at:
                raise KeyboardInterrupt
            steps[0] += 1
            return real(*given, **how)

        return step

    monkeypatch.setattr(os, "link", dying(os.link))
    monkeypatch.setattr(type(record), "unlink", dying(type(record).unlink))
    monkeypatch.setattr(type(record), "replace", dying(type(record).replace))
    draft = tmp_path / "data" / "draft"
    draft.write_bytes((tmp_path / "b.sqlite3").read_bytes())
    with pytest.raises(KeyboardInterrupt), held(record):
        put_in_place(draft, record)
    monkeypatch.undo()
    assert checked(record, thorough=True) == HELD


def test_names_beside_a_record_are_never_used_twice(tmp_path):
    """Two in one second."""
    path = tmp_path / FILE_NAME
    first = beside(path, "set-aside")
    first.write_text("")
    second = beside(path, "set-aside")
    assert not second.exists()
    assert second.name.startswith("snapgloss-set-aside-")
