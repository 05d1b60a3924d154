"""A run over one boot, over several, and beside other runs of the same boot."""

import pytest

from snapgloss.base.errors import StoreError
from snapgloss.store import GapRow


def test_a_run_is_what_lies_between_its_ends(store, identity, reading, event, new_run):
    """Readings and events before the start and after the end belong to no run; both ends do."""
    boot = store.boot_id(identity())
    store.add_readings(boot, [reading(n) for n in range(10)])
    store.add_events(boot, [event(n) for n in range(10)])
    run = store.begin_run(new_run, boot, 2000)
    store.end_run(run, 7000, "finished", "")
    assert [r.seq for r in store.readings(run)] == [2, 3, 4, 5, 6, 7]
    assert [e.seq for e in store.events(run)] == [2, 3, 4, 5, 6, 7]


def test_a_run_goes_on_over_a_reset(store, identity, reading, clock, new_run):
    """After a reset the times count on by the host's clock: 90 s between the two parts."""
    first, second = store.boot_id(identity(7)), store.boot_id(identity(8))
    run = store.begin_run(new_run, first, 5000)
    store.add_readings(first, [reading(n) for n in range(5, 9)])
    clock.utc_ms += 90_000
    store.add_part(run, second, 2000)
    store.add_readings(second, [reading(n) for n in range(2, 5)])
    assert [r.at_ms for r in store.readings(run)] == [5000, 6000, 7000, 8000, 95000, 96000, 97000]
    assert [part.shift_ms for part in store.parts(run)] == [0, 93_000]


def test_times_never_run_back_over_a_reset(store, identity, reading, new_run):
    """With a host clock that stood still, the second part still follows the first."""
    first, second = store.boot_id(identity(7)), store.boot_id(identity(8))
    run = store.begin_run(new_run, first, 5000)
    store.add_readings(first, [reading(n) for n in range(5, 9)])
    store.add_part(run, second, 0)
    store.add_readings(second, [reading(0), reading(1)])
    assert [r.at_ms for r in store.readings(run)] == [5000, 6000, 7000, 8000, 8001, 9001]


def test_a_host_clock_that_jumped_is_not_believed(store, identity, reading, clock, new_run):
    """Set by the network from 1970 to today between two boots: a gap of 4 s, not of 56 years; 11
    hours are believed."""
    for nonce, jump_ms, gap_ms in ((7, 56 * 365 * 86_400_000, 4001), (17, 11 * 3_600_000, None)):
        first, second = store.boot_id(identity(nonce)), store.boot_id(identity(nonce + 1))
        run = store.begin_run(new_run, first, 5000)
        store.add_readings(first, [reading(n) for n in range(5, 9)])
        clock.utc_ms += jump_ms
        store.add_part(run, second, 2000)
        store.add_readings(second, [reading(n) for n in range(2, 5)])
        at_ms = [r.at_ms for r in store.readings(run)]
        assert at_ms[4] - at_ms[3] == (gap_ms or jump_ms - 3000)


def test_the_next_run_closes_one_left_open(store, identity, reading, new_run):
    """A run whose host died does not swallow the next run of the same boot."""
    boot = store.boot_id(identity())
    left_open = store.begin_run(new_run, boot, 0)
    store.add_readings(boot, [reading(n) for n in range(6)])
    after = store.begin_run(new_run, boot, 4000)
    assert [r.seq for r in store.readings(left_open)] == [0, 1, 2, 3]
    assert [r.seq for r in store.readings(after)] == [4, 5]


def test_a_gap_is_of_the_run_it_fell_into(store, identity, reading, new_run):
    """gaps() gives those between the run's own records, once each, with the reason."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 10_000)
    store.add_readings(boot, [reading(n) for n in (2, 3, 10, 11, 20)])
    store.add_gap(boot, "readings", 4, 8, "before the run")
    for _ in range(2):
        store.add_gap(boot, "readings", 12, 19, "overwritten")
    store.end_run(run, 20_000, "finished", "")
    store.add_gap(boot, "readings", 21, 30, "after the run")
    assert store.gaps(run) == [GapRow(boot, "readings", 12, 19, "overwritten")]


def test_gaps_that_touch_are_one(store, identity, reading, new_run):
    """Three rows that touch or overlap are one loss; another reason, or a hole between, is not."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)
    store.add_readings(boot, [reading(n) for n in (0, 60)])
    for first, last in ((1, 9), (10, 19), (15, 29), (40, 44)):
        store.add_gap(boot, "readings", first, last, "overwritten")
    store.add_gap(boot, "readings", 45, 50, "not given")
    assert store.gaps(run) == [
        GapRow(boot, "readings", 1, 29, "overwritten"),
        GapRow(boot, "readings", 40, 44, "overwritten"),
        GapRow(boot, "readings", 45, 50, "not given"),
    ]


def test_a_run_is_begun_with_its_first_part_or_not_at_all(store, new_run):
    """A boot that is not there refuses the part, and no run without one is left behind."""
    with pytest.raises(StoreError):
        store.begin_run(new_run, 99, 0)
    assert store.runs() == []


def test_columns_are_those_of_the_readings(store, identity, reading, clock, new_run):
    """Of no part, of rows, over a reset, packed, and packed with rows beside: what `readings`
    gives, in its order."""
    names = ("at_ms", "state", "product_mc")
    first, second = store.boot_id(identity(7)), store.boot_id(identity(8))
    run = store.begin_run(new_run, first, 5000)

    def is_same() -> bool:
        readings = store.readings(run)
        wanted = {name: tuple(getattr(one, name) for one in readings) for name in names}
        return store.series(run, names) == wanted

    assert store.series(run + 1, names) == dict.fromkeys(names, ())
    assert store.series(run, names) == dict.fromkeys(names, ())
    store.add_readings(first, [reading(n) for n in range(5, 9)])
    assert is_same()
    clock.utc_ms += 90_000
    store.add_part(run, second, 2000)
    store.add_readings(second, [reading(n) for n in range(2, 5)])
    assert is_same()
    store.end_run(run, 9000, "finished", "")
    assert store.pack_run(run) == 7
    assert is_same()
    store.add_readings(second, [reading(6)])
    assert is_same()
    assert len(store.series(run, names)["at_ms"]) == 8
