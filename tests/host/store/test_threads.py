"""One thread writes while others read."""

from concurrent.futures import ThreadPoolExecutor

import pytest


def test_readers_see_whole_batches_while_one_thread_writes(store, identity, reading, new_run):
    """Four readers beside a writer: no error, and never a part of a batch of ten."""
    boot = store.boot_id(identity())
    run = store.begin_run(new_run, boot, 0)

    def write() -> None:
        for first in range(0, 500, 10):
            store.add_readings(boot, [reading(n) for n in range(first, first + 10)])

    def read() -> list[int]:
        return [len(store.readings(run)) for _ in range(15)]

    with ThreadPoolExecutor(5) as pool:
        writing = pool.submit(write)
        counts = [pool.submit(read) for _ in range(4)]
        writing.result()
        seen = [count for future in counts for count in future.result()]
    assert all(count % 10 == 0 for count in seen)
    assert len(store.readings(run)) == 500


def test_what_is_read_at_once_is_of_one_state(store, identity, reading, new_run):
    """A note of another thread shows after it, and to others at once; a fault lets go of it."""
    run = store.begin_run(new_run, store.boot_id(identity()), 0)
    with ThreadPoolExecutor(1) as pool:
        with store.at_once():
            assert store.notes(run) == []
            pool.submit(store.add_note, run, "Fan on low.").result()
            assert store.notes(run) == []
            assert len(pool.submit(store.notes, run).result()) == 1
        assert len(store.notes(run)) == 1
        with pytest.raises(ZeroDivisionError), store.at_once():
            raise ZeroDivisionError
        pool.submit(store.add_note, run, "Fan on high.").result()
        assert len(store.notes(run)) == 2
