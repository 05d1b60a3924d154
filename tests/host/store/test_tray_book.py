"""Trays, the probes of a rig, and what a rig told: kept whole or not at all."""

import pytest

from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.records import Event
from snapgloss.store.rows import ProbeRow

from .conftest import FIRST_UTC_MS


def test_trays_are_entries_that_are_only_added_to(store, clock, new_run, identity):
    """A correction stands behind what it corrects; another place is refused."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    store.add_tray(run, 1, "in", FIRST_UTC_MS - 60_000)
    clock.utc_ms += 5
    store.add_tray(run, 1, "in", FIRST_UTC_MS - 30_000)
    assert [row[1:] for row in store.trays(run)] == [
        (run, FIRST_UTC_MS, 1, "in", FIRST_UTC_MS - 60_000),
        (run, FIRST_UTC_MS + 5, 1, "in", FIRST_UTC_MS - 30_000),
    ]
    with pytest.raises(StoreError):
        store.add_tray(run, 1, "away", FIRST_UTC_MS)
    with pytest.raises(InputError, match="no run 7"):
        store.add_tray(7, 1, "in", FIRST_UTC_MS)


def test_the_probes_of_a_run_are_those_it_began_with(store, new_run, identity):
    """They come back as given, by role; a run of which nobody knew has none."""
    chocolate = ProbeRow("chocolate", "ds18b20,2801001a2b00005f", 120, -5, FIRST_UTC_MS, 2)
    plate = ProbeRow("plate", "ntc,1,10000,1,2,3", 0, 0, None, 0)
    boot = store.boot_id(identity())
    known = store.begin_run(new_run, boot, 0, None, [plate, chocolate])
    assert store.probes(known) == [chocolate, plate]
    assert store.probes(store.begin_run(new_run, boot, 0)) == []


def test_what_a_rig_told_is_kept_whole_or_not_at_all(store, new_run, identity, reading):
    """One transaction for readings, events and gaps: a gap that cannot be leaves none of them."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    told = ([reading(0)], [Event(0, 5, "done", 0, 0)])
    with pytest.raises(StoreError):
        store.add_told(boot, *told, [("neither", 3, 4, "lost")])
    assert (store.readings(run), store.events(run)) == ([], [])
    store.add_told(boot, *told, [("readings", 0, 0, "lost")])
    store.add_told(boot, *told, [])
    assert (store.readings(run), store.events(run)) == (list(told[0]), list(told[1]))
    assert len(store.gaps(run)) == 1
