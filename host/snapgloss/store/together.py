"""Writes of several threads as one: each transaction waits for the disk once, whatever is in it.

Several rigs at once speak in the same moment. One after another they would wait for each other
and for the disk; so whoever comes while one is written goes with the next, all of them in one.
"""

import threading
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from snapgloss.base.errors import StoreBusy

What = TypeVar("What")


class _Waiting(Generic[What]):
    def __init__(self, what: What) -> None:
        self.what = what
        self.is_done = False
        self.fault: Exception | None = None


class Together(Generic[What]):
    """`write` writes all that it is given in one transaction, or nothing of it."""

    def __init__(self, write: Callable[[Sequence[What]], None]) -> None:
        self._write = write
        self._lock, self._turn = threading.Lock(), threading.Lock()
        self._queue: list[_Waiting[What]] = []

    def do(self, what: What) -> None:
        """Write it, with what waits beside it; it is written when this returns. Raises what
        `write` raises of it: a fault in what another thread brought is that thread's alone."""
        mine = _Waiting(what)
        with self._lock:
            self._queue.append(mine)
        with self._turn:
            if not mine.is_done:
                with self._lock:
                    queue, self._queue = self._queue, []
                self._all(queue)
        if mine.fault is not None:
            raise mine.fault

    def _all(self, queue: Sequence[_Waiting[What]]) -> None:
        try:
            self._write([one.what for one in queue])
        except Exception as fault:
            if len(queue) > 1 and not isinstance(fault, StoreBusy):
                for one in queue:
                    self._all([one])
                return
            for one in queue:
                one.fault = fault
        for one in queue:
            one.is_done = True
