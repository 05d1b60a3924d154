"""The one way host code asks for the time, so that a test or a virtual rig can give it."""

import time
from typing import Protocol


class Clock(Protocol):
    """Seconds since some fixed moment; never runs backwards. Only differences mean anything."""

    def now_s(self) -> float:
        """Return the present time in seconds."""
        ...


class SystemClock:
    """The computer's own monotonic clock; a change of date or summer time does not move it."""

    def now_s(self) -> float:
        """Return seconds of the monotonic clock."""
        return time.monotonic()
