"""What is put in comes out, once and in order."""

import pytest

from snapgloss.base.errors import InputError, StoreError

from .conftest import FIRST_UTC_MS


def test_readings_come_back_as_they_went_in(store, identity, reading, new_run):
    """A run's readings are equal to those added, a missing temperature still None."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    given = [reading(0), reading(1, product_mc=None), reading(2, product_mc=-1500)]
    store.add_readings(boot, given)
    assert store.readings(run) == given


def test_adding_twice_changes_nothing(store, identity, reading, event, new_run):
    """A batch fetched again, or overlapping one, is kept once; what was held first stays."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    store.add_readings(boot, [reading(n) for n in range(5)])
    store.add_readings(boot, [reading(n, product_mc=1) for n in range(3, 8)])
    store.add_events(boot, [event(0)])
    store.add_events(boot, [event(0), event(1)])
    assert [r.seq for r in store.readings(run)] == list(range(8))
    assert [r.product_mc for r in store.readings(run)] == [31500] * 5 + [1] * 3
    assert store.events(run) == [event(0), event(1)]


def test_last_seq_is_minus_one_until_something_is_held(store, identity, reading, event):
    """last_seq tells what to fetch from: (reading, event), each -1 when none."""
    boot = store.boot_id(identity())
    assert store.last_seq(boot) == (-1, -1)
    store.add_readings(boot, [reading(41)])
    assert store.last_seq(boot) == (41, -1)
    store.add_events(boot, [event(6)])
    assert store.last_seq(boot) == (41, 6)


def test_a_boot_is_known_by_board_and_nonce(store, identity):
    """The same start of the same board has one id; another start or board has another."""
    first = store.boot_id(identity(7))
    assert store.boot_id(identity(7)) == first
    assert len({first, store.boot_id(identity(8)), store.boot_id(identity(7, "bench-2"))}) == 3


def test_an_empty_batch_is_no_transaction(store, identity):
    """Nothing to add is nothing done, even for a boot that does not exist."""
    store.add_readings(99, [])
    assert store.last_seq(99) == (-1, -1)


def test_a_reading_of_an_unknown_boot_is_refused(store, reading):
    """Foreign keys are on: a reading cannot belong to no boot."""
    with pytest.raises(StoreError, match="FOREIGN KEY"):
        store.add_readings(99, [reading(0)])


def test_a_batch_is_kept_whole_or_not_at_all(store, identity, reading):
    """One bad row in a batch leaves none of the batch."""
    boot = store.boot_id(identity())
    bad = reading(1)._replace(flags=None)
    with pytest.raises(StoreError, match="NOT NULL"):
        store.add_readings(boot, [reading(0), bad])
    assert store.last_seq(boot) == (-1, -1)


def test_a_run_is_unfinished_until_it_ends(store, identity, clock, new_run):
    """A run keeps what it was begun with, its times by the host's clock, and how it ended."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    row = store.run(run)
    assert (row.outcome, row.ended_utc_ms, row.started_utc_ms) == (
        "unfinished",
        None,
        FIRST_UTC_MS,
    )
    clock.utc_ms += 60_000
    store.end_run(run, 60_000, "finished", "Finished.")
    row = store.run(run)
    assert (row.outcome, row.words) == ("finished", "Finished.")
    assert row.ended_utc_ms == FIRST_UTC_MS + 60_000
    assert {field: getattr(row, field) for field in new_run._fields} == new_run._asdict()
    assert row.simulated is True


def test_runs_are_listed_newest_first(store, identity, new_run):
    """runs() begins with the newest."""
    boot = store.boot_id(identity())
    numbers = [store.begin_run(new_run, boot, at_ms) for at_ms in (0, 5000, 9000)]
    assert [row.id for row in store.runs()] == numbers[::-1]


def test_a_run_that_is_not_there_is_named(store, identity):
    """A wrong run number gives a sentence with the number and where to look."""
    for ask in (store.run, lambda n: store.add_note(n, "x"), lambda n: store.add_part(n, 1, 0)):
        with pytest.raises(InputError, match="no run 12") as caught:
            ask(12)
        assert caught.value.remedy


def test_an_outcome_or_stream_of_ones_own_is_a_fault_of_the_program(store, identity, new_run):
    """Only the outcomes and streams of the tables are taken."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    with pytest.raises(ValueError, match="outcome"):
        store.end_run(run, 0, "perfect", "")
    with pytest.raises(ValueError, match="gap"):
        store.add_gap(store.boot_id(identity()), "smells", 0, 1, "")


def test_figures_are_replaced_and_notes_added(store, identity, new_run, clock):
    """save_figures replaces the set, None included; notes keep their order and time."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    store.save_figures(run, {"lowest_c": 27.1, "old": 1.0})
    store.save_figures(run, {"lowest_c": 27.25, "peak_rewarm_c": None})
    assert store.figures(run) == {"lowest_c": 27.25, "peak_rewarm_c": None}
    store.add_note(run, "Thick at the end.")
    clock.utc_ms += 5
    store.add_note(run, 'Bars "glossy" <b>')
    assert [(n.words, n.written_utc_ms) for n in store.notes(run)] == [
        ("Thick at the end.", FIRST_UTC_MS),
        ('Bars "glossy" <b>', FIRST_UTC_MS + 5),
    ]


def test_console_text_is_cut_not_refused(store, identity):
    """Console text is kept in order, each piece at most 4000 characters."""
    boot = store.boot_id(identity())
    store.add_console(boot, "Traceback")
    store.add_console(boot, "x" * 9000)
    assert [len(text) for text in store.console(boot)] == [9, 4000]
