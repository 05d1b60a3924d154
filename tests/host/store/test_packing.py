"""Packed readings: the same to every reader, damaged ones named, and the room given back."""

import sqlite3

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.records import Reading
from snapgloss.runs.outcome import keep_figures
from snapgloss.runs.packing import AFTER_MS, pack_old
from snapgloss.store import engine as engines
from snapgloss.store import packed, parts
from snapgloss.store.packing import pack, unpack

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 10), *rest) for state, m, *rest in SEEDED)
MC = st.one_of(st.none(), st.integers(-(2**31) + 1, 2**31 - 1))
WHOLE = st.integers(-(2**31) + 1, 2**31 - 1)
READINGS = st.lists(
    st.builds(
        Reading, st.integers(0, 2**31 - 1), st.integers(0, 2**50), st.text(max_size=12), WHOLE, MC,
        MC, MC, MC, WHOLE, WHOLE, WHOLE, WHOLE,
    ),
    max_size=30,
)  # fmt: skip


@given(READINGS)
def test_any_readings_come_back_as_they_were(readings):
    """Missing values, any word as state, values at both ends of 32 bits."""
    assert unpack(pack(readings)) == readings


@given(st.binary(max_size=200))
def test_any_other_bytes_are_refused(content):
    """Damage is a sentence, never a wrong reading or another exception."""
    with pytest.raises(StoreError, match="Packed readings"):
        unpack(content)


def test_a_block_cut_short_is_refused():
    """Each shorter form of a good block."""
    block = pack(synthetic(SHORT).readings[:50])
    for length in range(len(block)):
        with pytest.raises(StoreError):
            unpack(block[:length])


def test_a_packed_run_reads_as_before(store, clock):
    """Readings, gaps, numbers and figures are the same; the rows are gone and stay gone."""
    run = synthetic(SHORT)
    run_id = keep(store, run)
    store.add_gap(1, "readings", 30, 40, "overwritten")

    def seen():
        return (store.readings(run_id), store.gaps(run_id), store.last_seq(1),
                store.silent_ms(run_id), keep_figures(store, run_id))  # fmt: skip

    before = seen()
    assert pack_old(store, clock() + AFTER_MS) == (0, 0)
    assert pack_old(store, clock() + AFTER_MS + 1) == (1, len(run.readings))
    assert seen() == before
    assert pack_old(store, clock() + AFTER_MS + 1) == (0, 0)
    with store._engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM readings").scalar() == 0


def test_the_ends_of_a_part_are_those_of_its_readings(store, clock):
    """Of a whole block, of a stretch within it, of one beside it, and before it was packed."""
    run = synthetic(SHORT)
    run_id = keep(store, run)
    first, last = run.readings[0], run.readings[-1]
    with store._reading() as connection:
        (part,) = parts.of_run(connection, run_id)
        assert packed.ends(connection, part) == []
    assert pack_old(store, clock() + AFTER_MS + 1) == (1, len(run.readings))
    stretch = part._replace(start_ms=run.readings[5].at_ms, end_ms=run.readings[9].at_ms)
    between = part._replace(start_ms=first.at_ms + 1, end_ms=first.at_ms + 1)
    with store._reading() as connection:
        assert packed.ends(connection, part) == [first.seq, last.seq]
        assert packed.ends(connection, stretch) == [run.readings[5].seq, run.readings[9].seq]
        assert packed.ends(connection, between) == []


def test_a_run_over_a_reset_is_packed_in_both_parts(store, identity, new_run, reading, clock):
    """Times go on as before over two boots; rows that come late join the packed ones once."""
    first, second = store.boot_id(identity(1)), store.boot_id(identity(2))
    run_id = store.begin_run(new_run, first, 0)
    store.add_readings(first, [reading(n) for n in range(10)])
    clock.utc_ms += 60_000
    store.add_part(run_id, second, 0)
    store.add_readings(second, [reading(n) for n in range(10) if n != 4])
    with pytest.raises(InputError, match="under way"):
        store.pack_run(run_id)
    store.end_run(run_id, 9000, "finished", "")
    before = store.readings(run_id)
    assert [r.at_ms for r in before][9:11] == [9000, 60_000]
    assert store.pack_run(run_id) == 19
    assert store.readings(run_id) == before
    store.add_readings(second, [reading(4), reading(5)])
    late = store.readings(run_id)
    assert [r.seq for r in late] == [*range(10), *range(10)]


def test_two_runs_of_one_boot_are_told_apart(store, identity, new_run, reading):
    """Each gets its own readings out of the packed blocks of the boot they share."""
    boot = store.boot_id(identity())
    runs = []
    for begin in (0, 20):
        runs.append(store.begin_run(new_run, boot, begin * 1000))
        store.add_readings(boot, [reading(n) for n in range(begin, begin + 10)])
        store.end_run(runs[-1], (begin + 9) * 1000, "finished", "")
    for run_id in runs:
        store.pack_run(run_id)
    assert [[r.seq for r in store.readings(run)][::9] for run in runs] == [[0, 9], [20, 29]]


def test_the_room_is_given_back(tmp_path, store, clock):
    """The file is less than half as large after packing, and is sound."""
    keep(store, synthetic(SEEDED))
    path = tmp_path / "data" / engines.FILE_NAME
    before = path.stat().st_size + path.with_name(f"{path.name}-wal").stat().st_size
    pack_old(store, clock() + AFTER_MS + 1)
    assert path.stat().st_size < before / 2
    with sqlite3.connect(path) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    raw.close()
