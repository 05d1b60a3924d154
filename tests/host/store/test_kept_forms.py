"""Every form that a record ever had is brought to head with all that is in it, and kept before."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from snapgloss.base.errors import StoreError
from snapgloss.store import migrate, open_store
from snapgloss.store.copying import checked
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.migrations import HEAD, REVISIONS

from .kept_forms import FOLDER, readings

Rows = dict[str, list[dict[str, Any]]]


def rows_in(path: Path) -> Rows:
    """All rows of all tables, by column."""
    with closing(sqlite3.connect(path)) as raw:
        raw.row_factory = sqlite3.Row
        names = raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: [dict(row) for row in raw.execute(f'SELECT * FROM "{name}"')]
            for (name,) in names
            if name != "alembic_version"
        }


@pytest.fixture(params=REVISIONS)
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, Path]:
    """A form, and a record of it in a data folder."""
    path = tmp_path / FILE_NAME
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript((FOLDER / f"{request.param}.sql").read_text(encoding="utf-8"))
    return request.param, path


def test_every_row_of_every_form_arrives(kept):
    """Value by value, in each column that the form had; what came later is empty."""
    form, path = kept
    before = rows_in(path)
    assert len(before["readings"]) == 40
    with open_store(path.parent) as store:
        told = store.told
    after = rows_in(path)
    for table, rows in before.items():
        columns = list(rows[0])
        assert [{name: row[name] for name in columns} for row in after[table]] == rows, table
    assert checked(path, thorough=True).form == HEAD
    assert len(told) == (form != HEAD)


def test_the_store_reads_it_as_its_own(kept):
    """Readings, packed ones, events, notes and grades by the functions that commands use."""
    form, path = kept
    with open_store(path.parent) as store:
        assert [run.id for run in store.runs()] == [3, 2, 1]
        assert store.run(1).words.endswith('Quillby & Maar\'s "élan"')
        assert store.readings(1) == readings()
        assert len(store.notes(1)) == 3
        assert len(store.grades(1)) == (3 if form >= "0002" else 0)
        assert store.last_seq(1) == (39, 3)
        assert store.last_seq(2)[0] == (19 if form >= "0005" else -1)


def test_the_record_as_it_was_is_kept_before_and_said(kept):
    """A whole record of its own form, with the same rows; at head nothing is copied."""
    form, path = kept
    before = rows_in(path)
    with open_store(path.parent) as store:
        told = list(store.told)
    beside = [each for each in path.parent.iterdir() if each != path]
    if form == HEAD:
        assert (beside, told) == ([], [])
        return
    (copy,) = beside
    assert copy.name.startswith(f"snapgloss-before-{HEAD}-")
    assert str(copy) in told[0]
    assert checked(copy, thorough=True).form == form
    assert rows_in(copy) == before


def test_no_migration_without_a_copy(tmp_path, monkeypatch):
    """Without room for it the record stays as it was, and the error says so."""

    def full(_source, target, _where):
        raise StoreError(f"{target} cannot be written: No space left on device.", "Make room.")

    path = tmp_path / FILE_NAME
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript((FOLDER / "0004.sql").read_text(encoding="utf-8"))
    before = rows_in(path)
    monkeypatch.setattr(migrate, "copied", full)
    with pytest.raises(StoreError, match="No space left"):
        open_store(tmp_path)
    assert rows_in(path) == before


def test_every_form_is_kept():
    """A new step is kept as SQL beside the others: python tests/host/store/kept_forms.py."""
    assert sorted(path.stem for path in FOLDER.iterdir()) == list(REVISIONS)
