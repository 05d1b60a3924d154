"""Opening: migrated to head, set up to outlive a pulled plug, and clear about what is wrong."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from snapgloss.base.errors import StoreBusy, StoreDamaged, StoreError, VersionError
from snapgloss.store import engine as engines
from snapgloss.store import migrate, open_store
from snapgloss.store.failures import as_store_errors
from snapgloss.store.migrations import REVISIONS
from snapgloss.store.tables import METADATA


def _file(folder: Path) -> Path:
    return folder / engines.FILE_NAME


def test_the_migrations_make_the_tables_of_the_code(store):
    """After migrating, Alembic finds no difference between the database and tables.py."""
    with store._engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, METADATA) == []


def test_readings_have_no_rowid_of_their_own(tmp_path):
    """The readings table is keyed by (boot_id, seq) alone (WITHOUT ROWID)."""
    open_store(tmp_path).close()
    with sqlite3.connect(_file(tmp_path)) as raw:
        sql = "SELECT sql FROM sqlite_master WHERE name = 'readings'"
        assert "WITHOUT ROWID" in raw.execute(sql).fetchone()[0]
        with pytest.raises(sqlite3.OperationalError, match="rowid"):
            raw.execute("SELECT rowid FROM readings")
    raw.close()


def test_the_list_of_revisions_is_that_of_the_scripts():
    """REVISIONS, kept so that opening is quick, names every script from base to head."""
    scripts = ScriptDirectory.from_config(migrate.scripts_config())
    found = [script.revision for script in scripts.walk_revisions()]
    assert tuple(reversed(found)) == REVISIONS


@pytest.mark.parametrize(
    ("pragma", "value"),
    # Of PRAGMA synchronous, 2 is FULL (sqlite.org/pragma.html).
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", 5000)],
)
def test_every_connection_is_set_up(store, pragma, value):
    """Each of several connections open at once has the pragmas."""
    with store._engine.connect() as one, store._engine.connect() as other:
        for connection in (one, other):
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_opening_again_keeps_what_is_there(tmp_path, identity, new_run):
    """A second opening migrates nothing and loses nothing."""
    with open_store(tmp_path) as store:
        run = store.begin_run(new_run, store.boot_id(identity()), 0)
    with open_store(tmp_path) as store:
        assert [row.id for row in store.runs()] == [run]


def test_a_newer_record_is_refused_untouched(tmp_path):
    """A database of a revision this version does not know gives a sentence and is not written."""
    open_store(tmp_path).close()
    with sqlite3.connect(_file(tmp_path)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0999'")
    raw.close()
    with pytest.raises(VersionError, match="newer snapgloss") as caught:
        open_store(tmp_path)
    assert "Update snapgloss" in caught.value.remedy
    with sqlite3.connect(_file(tmp_path)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0999",)]
    raw.close()


def test_a_failed_migration_leaves_nothing_behind(tmp_path, monkeypatch):
    """A migration that fails half-way is undone whole: the next opening begins afresh."""

    def fail_after(connection):
        upgrade(connection)
        raise sqlite3.OperationalError("disk went away")

    upgrade = migrate._upgrade
    monkeypatch.setattr(migrate, "_upgrade", fail_after)
    with pytest.raises(StoreError, match="disk went away"):
        open_store(tmp_path)
    with sqlite3.connect(_file(tmp_path)) as raw:
        assert raw.execute("SELECT name FROM sqlite_master").fetchall() == []
    raw.close()
    monkeypatch.undo()
    open_store(tmp_path).close()


def test_a_file_that_is_no_database_is_refused(tmp_path):
    """Something else under our name is refused, and left as it is."""
    _file(tmp_path).write_text("shopping list\n" * 200)
    with pytest.raises(StoreError, match="not a snapgloss database"):
        open_store(tmp_path)
    assert _file(tmp_path).read_text().startswith("shopping list")


def test_damaged_text_that_the_driver_cannot_read_is_named_so():
    """What Python's own driver raises then is no error of the database."""
    with pytest.raises(StoreError, match="is damaged"), as_store_errors("x.sqlite3"):
        b"\xff\xfe".decode()


def test_damaged_text_that_sqlite_gives_is_named_so(tmp_path, identity):
    """Text that is no UTF-8 any more: the sentence for damage, not an error nobody knows."""
    with open_store(tmp_path) as store:
        boot = store.boot_id(identity())
        store.add_console(boot, "hello")
    with sqlite3.connect(_file(tmp_path)) as raw:
        raw.execute("UPDATE console SET text = CAST(x'ff41fe' AS TEXT)")
    raw.close()
    with open_store(tmp_path) as store, pytest.raises(StoreError, match="is damaged"):
        store.console(boot)


def test_values_of_another_kind_are_named_damage(tmp_path, identity, reading, new_run):
    """Bytes where a number should be: whoever reckons with them fails, and the record is to
    blame. The same fault with a whole record stays what it is."""
    with open_store(tmp_path) as store:
        boot = store.boot_id(identity())
        run = store.begin_run(new_run, boot, 0)
        store.add_readings(boot, [reading(n) for n in range(3)])
    with pytest.raises(TypeError), open_store(tmp_path):
        raise TypeError("of our own")
    with sqlite3.connect(_file(tmp_path)) as raw:
        raw.execute("UPDATE readings SET product_mc = x'0102' WHERE seq = 1")
    raw.close()
    with pytest.raises(StoreError, match="is damaged") as caught, open_store(tmp_path) as store:
        max(row.product_mc for row in store.readings(run))
    assert isinstance(caught.value.__cause__, TypeError)


@pytest.mark.parametrize("to_read", [True, False])
def test_a_record_that_lost_its_content_is_named_so(tmp_path, identity, to_read):
    """0 bytes are no new record: nothing is begun over it, and the log beside it is left."""
    with open_store(tmp_path) as store:
        store.boot_id(identity())
    log = tmp_path / f"{engines.FILE_NAME}-wal"
    log.write_bytes(b"rows")
    _file(tmp_path).write_bytes(b"")
    with pytest.raises(StoreError, match="is empty: its file has 0 bytes") as caught:
        open_store(tmp_path, to_read=to_read)
    assert "backup" in caught.value.remedy
    assert (_file(tmp_path).read_bytes(), log.read_bytes()) == (b"", b"rows")


def test_a_start_that_was_killed_before_its_first_write(tmp_path, monkeypatch):
    """At whatever moment: no empty file is left, and the next start begins the record."""
    from snapgloss.store import beginning

    monkeypatch.setattr(beginning, "os", None)  # dies before the file has its name
    with pytest.raises(AttributeError):
        open_store(tmp_path)
    assert not _file(tmp_path).exists()
    monkeypatch.undo()
    beginning.begin(_file(tmp_path))  # dies after it
    assert _file(tmp_path).stat().st_size > 0
    with open_store(tmp_path, to_read=True) as store:
        assert store.runs() == []
    assert [path.name for path in tmp_path.iterdir()] == [engines.FILE_NAME]


def test_a_damaged_record_is_named_so(tmp_path, identity, reading):
    """Pages overwritten with rubbish give the sentence for damage, with a remedy."""
    with open_store(tmp_path) as store:
        boot = store.boot_id(identity())
        store.add_readings(boot, [reading(n) for n in range(2000)])
    page_bytes = 4096
    content = bytearray(_file(tmp_path).read_bytes())
    content[page_bytes:] = b"\xa5" * (len(content) - page_bytes)
    _file(tmp_path).write_bytes(content)
    for _again in range(2):
        with pytest.raises(StoreDamaged, match="damaged") as caught:
            open_store(tmp_path, to_read=True).last_seq(boot)
        assert "backup" in caught.value.remedy
    assert _file(tmp_path).read_bytes() == content


def test_a_locked_record_is_waited_for_then_named(tmp_path, monkeypatch, identity):
    """A writer that does not let go gives the sentence for a lock, not a wait for ever."""
    monkeypatch.setattr(engines, "_PRAGMAS", ("PRAGMA busy_timeout = 1", *engines._PRAGMAS[1:]))
    with open_store(tmp_path) as store:
        other = sqlite3.connect(_file(tmp_path), isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBusy, match="locked"):
            store.boot_id(identity())
        assert store.runs() == []  # a reader does not wait for the writer
        other.close()
        assert store.boot_id(identity()) == 1


def test_a_full_disk_is_named_and_the_batch_can_be_given_again(store, identity, reading):
    """At the end of the room the batch is refused whole; with room again it is taken."""
    boot = store.boot_id(identity())
    with store._engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    batch = [reading(n) for n in range(5000)]
    with pytest.raises(StoreError, match="no room"):
        store.add_readings(boot, batch)
    assert store.last_seq(boot) == (-1, -1)
    with store._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    store.add_readings(boot, batch)
    assert store.last_seq(boot) == (4999, -1)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_that_cannot_be_made_is_named(tmp_path):
    """A file where the folder should be gives a sentence that names it."""
    (tmp_path / "data").write_text("")
    with pytest.raises(StoreError, match="could not be made"):
        open_store(tmp_path / "data")


def test_a_record_that_may_only_be_read_is_named(store, identity):
    """Writing to a read-only database gives the sentence for permissions."""
    with store._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA query_only = ON")
    with pytest.raises(StoreError, match="is read-only"):
        store.boot_id(identity())


@pytest.mark.parametrize(
    "url", ["nosuch://host/db", "postgresql+nosuch://ines:opensesame@h/db", "://opensesame"]
)
def test_an_address_of_no_known_database_is_refused(url):
    """A URL without a driver says what to install; a password in it is not shown."""
    with pytest.raises(StoreError, match="No database") as caught:
        open_store(url)
    assert "opensesame" not in str(caught.value)


def test_importing_the_package_loads_no_database_library():
    """`import snapgloss.store` stays cheap: neither SQLAlchemy nor Alembic is imported."""
    code = (
        "import sys, snapgloss.store;"
        "print([m for m in ('sqlalchemy', 'alembic') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_opening_an_up_to_date_record_does_not_load_alembic(tmp_path):
    """Only a migration needs Alembic."""
    open_store(tmp_path).close()
    code = (
        "import sys; from snapgloss.store import open_store;"
        f"open_store({str(tmp_path)!r}).close(); print('alembic' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
