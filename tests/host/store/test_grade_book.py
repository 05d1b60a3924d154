"""Entries about bars: added, never changed, and a record of the form before has room for them."""

import sqlite3

import pytest
from alembic import command
from sqlalchemy.exc import IntegrityError

from snapgloss.base.errors import InputError, StoreError
from snapgloss.store import engine as engines
from snapgloss.store import migrate, open_store
from snapgloss.store.migrations import REVISIONS


def record_at(folder, revision):
    """Make a database of an earlier form, with one run in it."""
    made = engines.make_engine(folder)
    with made.connect().execution_options(writes=True) as connection, connection.begin():
        config = migrate.scripts_config()
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    made.dispose()
    with sqlite3.connect(folder / engines.FILE_NAME) as raw:
        raw.execute(
            "INSERT INTO runs VALUES (1, '', '0badf00d', 'Lantern 72', 'dark', 'seeded', 2000, "
            "31000, 32000, 31500, 'bench rig', 0, NULL, 'Quillby & Maar', 5, 6, 'finished', 'w')"
        )
        raw.execute("INSERT INTO figures VALUES (1, 'lowest_c', 31.25)")
    raw.close()


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_a_record_of_an_earlier_form_is_opened_and_keeps_its_run(tmp_path, revision):
    """Each earlier revision is brought to head: the run is there, and can be graded."""
    record_at(tmp_path, revision)
    with open_store(tmp_path) as store:
        assert store.run(1).chocolate == "Lantern 72"
        assert store.figures(1) == {"lowest_c": 31.25}
        store.add_grade(1, "sell", ["dull"], None, "")
        store.add_use(1, "24-117", None, 2000)
        assert [row.verdict for row in store.grades(1)] == ["sell"]


def test_entries_come_back_as_they_went_in_and_in_order(store, new_run, identity, clock):
    """Each kind of entry of one run, with the time it was made at."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    other = store.begin_run(new_run, store.boot_id(identity(8)), 0)
    store.add_grade(run, "sell", [], None, "")
    clock.utc_ms += 1000
    store.add_grade(run, "remelt", ["film", "no release"], "photos/a.jpg", "by the window")
    store.add_grade(other, "seconds", [], None, "")
    store.add_count(run, {"made": 48, "sold": 40})
    store.add_weights(run, 50_000, [50_400, 49_800])
    store.add_smear(run, 21_000, None, False)
    store.add_curve(run, 1.02, "in", 13_000, "0,31.5\n")
    store.add_condition(run, None, 550)
    held = store.bars(run)
    assert held.conditions[0][3:] == (None, 550)
    first, second = held.grades
    assert (first.verdict, first.marks, first.photo) == ("sell", (), None)
    assert second[3:] == ("remelt", ("film", "no release"), "photos/a.jpg", "by the window")
    assert second.graded_utc_ms - first.graded_utc_ms == 1000
    assert held.counts[0][3:] == (48, 40, None, None)
    assert [row[3:] for row in held.weights] == [(50_000, 50_400), (50_000, 49_800)]
    assert held.smears[0][3:] == (21_000, None, False)
    assert held.curves[0][3:] == (1.02, "in", 13_000, "0,31.5\n")
    assert [row.run_id for row in store.grades()] == [run, run, other]
    assert store.set_ratios() == {run: 1.02}


def test_no_entry_without_its_run_and_no_verdict_but_the_three(store, new_run, identity):
    """A run that is not there is named; the database itself refuses another verdict."""
    with pytest.raises(InputError, match="no run 9"):
        store.add_grade(9, "sell", [], None, "")
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    with pytest.raises(StoreError) as caught:
        store.add_grade(run, "splendid", [], None, "")
    assert isinstance(caught.value.__cause__, IntegrityError)
    assert store.grades(run) == []
