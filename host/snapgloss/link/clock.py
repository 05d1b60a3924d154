"""The clock a link waits by: injected, so that tests own it."""

import threading
from typing import Protocol

from snapgloss.base.clock import Clock, SystemClock


class WaitingClock(Clock, Protocol):
    """A clock that can also wait, and end the wait early."""

    def wait(self, ready: threading.Event, at_most_s: float) -> bool:
        """Wait until ready is set or at_most_s has passed; tell whether it is set."""
        ...


class SystemWaitingClock(SystemClock):
    """The computer's own monotonic clock."""

    def wait(self, ready: threading.Event, at_most_s: float) -> bool:
        """Wait for ready, at most at_most_s."""
        return ready.wait(at_most_s)
