"""From the session's thread to any number of pages: each is woken, none is waited for."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager

from snapgloss.runs.live.feed import Feed


class Hub:
    """Belongs to one event loop, which `attach` names. Pages pull, a slow one more rarely.

    `others` wake its pages, too.
    """

    def __init__(self, feed: Feed, *others: Feed) -> None:
        self.feed = feed
        self._loop: asyncio.AbstractEventLoop | None = None
        self._wakes: set[asyncio.Event] = set()
        self._is_called = False
        self.is_over = False
        for one in (feed, *others):
            one.listen(self._changed)

    def attach(self, loop: asyncio.AbstractEventLoop) -> None:
        """Serve pages of this loop from now on."""
        self._loop = loop

    @property
    def pages(self) -> int:
        """How many watch."""
        return len(self._wakes)

    @contextmanager
    def watching(self) -> Iterator[asyncio.Event]:
        """Give an event that is set after each change, while the page watches."""
        wake = asyncio.Event()
        wake.set()
        self._wakes.add(wake)
        try:
            yield wake
        finally:
            self._wakes.discard(wake)

    def end(self) -> None:
        """Let every page go, for the server ends; from the loop's own thread."""
        self.is_over = True
        self.wake_all()

    def wake_all(self) -> None:
        """Wake every page, from the loop's own thread."""
        self._is_called = False
        for wake in self._wakes:
            wake.set()

    def _changed(self) -> None:
        """Session's thread: one call under way at a time, however fast the rig is."""
        loop = self._loop
        if loop is None or loop.is_closed() or self._is_called:
            return
        self._is_called = True
        try:
            loop.call_soon_threadsafe(self.wake_all)
        except RuntimeError:  # the loop closed just now
            return
