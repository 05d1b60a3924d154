"""One thread writes while others read."""

from concurrent.futures import ThreadPoolExecutor


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
