"""Work the figures of every closed run out anew: on all processors, where there are many runs."""

import multiprocessing
import os
import signal
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.runs.outcome import figures_anew
from snapgloss.store import open_store

if TYPE_CHECKING:
    from snapgloss.store.store import Store

AT_ONCE = 50  # runs whose figures are written in one transaction
MANY = 4 * AT_ONCE  # from here on more processes are worth the second it takes to start them

Found = dict[int, dict[str, float | None]]


def recompute_figures(store: "Store", many: int = MANY) -> int:
    """Work out the figures of every closed run anew from its record; return how many.

    From `many` runs on other processes read the record and work; this one alone writes.
    """
    closed = [run.id for run in store.runs(with_replaced=True) if run.ended_utc_ms is not None]
    shares = [closed[first : first + AT_ONCE] for first in range(0, len(closed), AT_ONCE)]
    workers = min(cores(), len(shares))
    if len(closed) >= many and workers > 1:
        found = _by_others(store.address, shares, workers)
    else:
        found = (_worked_out(store, share) for share in shares)
    for some in found:
        store.save_all_figures(some)
    return len(closed)


def cores() -> int:
    """How many processors this program may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _worked_out(store: "Store", run_ids: Sequence[int]) -> Found:
    return {run_id: figures_anew(store, run_id) for run_id in run_ids}


def _by_others(
    address: str | Path, shares: Sequence[Sequence[int]], workers: int
) -> Iterator[Found]:
    spawned = multiprocessing.get_context("spawn")  # a forked SQLite handle may damage its file
    with ProcessPoolExecutor(workers, spawned, _leave_ctrl_c) as pool:
        yield from pool.map(partial(_share, address), shares)


def _leave_ctrl_c() -> None:
    """Ctrl-C is for the process that asked; it ends the others."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _share(address: str | Path, run_ids: Sequence[int]) -> Found:
    return _worked_out(_opened(address), run_ids)


@cache
def _opened(address: str | Path) -> "Store":
    """The record, opened once in each process."""
    return open_store(address, to_read=True)
