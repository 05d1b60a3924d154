"""How fast simulated time runs against the wall, and when it stands still."""

import time
from collections.abc import Callable
from typing import Protocol

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.base.errors import InputError
from snapgloss.virtual.exchange import TICK_MS

IDLE_FACTOR = 20.0
"""Greatest speed while no batch runs: a tick is 12.5 ms, so a request is answered in that."""

STAND_STILL_S = 2.0
"""Wall seconds a host may leave bytes unread before the rig goes on without it."""

_LOOK_AGAIN_S = 0.00005
_NO_CATCHING_UP_S = 0.25


class WallClock(Clock, Protocol):
    """Wall seconds and a way to let them pass."""

    def sleep_s(self, span_s: float) -> None:
        """Return after about `span_s` seconds."""
        ...


class SystemWallClock(SystemClock):
    """The computer's monotonic clock."""

    def sleep_s(self, span_s: float) -> None:
        """Sleep."""
        time.sleep(span_s)


def speed_factor(text: str) -> float | None:
    """Simulated seconds per wall second; None for "max". Raises InputError."""
    if text.strip() == "max":
        return None
    try:
        factor = float(text)
    except ValueError:
        factor = 0.0
    if not 0.1 <= factor <= 10_000:
        raise InputError(
            f"The speed {text!r} is not a number from 0.1 to 10000, nor max.",
            "Give simulated seconds per real second, such as 60, or max.",
        )
    return factor


class Pacer:
    """Waits before each tick. `factor` is simulated per wall seconds in a batch, None = max."""

    def __init__(self, factor: float | None, clock: WallClock) -> None:
        self._clock = clock
        self._busy_s = 0.0 if factor is None else TICK_MS / 1000 / factor
        self._idle_s = max(self._busy_s, TICK_MS / 1000 / IDLE_FACTOR)
        self._due_s = clock.now_s()

    def wait(self, idle: bool) -> None:
        """Return when the next tick is due."""
        step_s = self._idle_s if idle else self._busy_s
        if not step_s:
            return
        now_s = self._clock.now_s()
        self._due_s += step_s
        if self._due_s > now_s:
            # After max speed or a stand-still the due time may lie anywhere: never wait longer
            # than one step, never run faster to make up for lost time.
            self._due_s = min(self._due_s, now_s + step_s)
            self._clock.sleep_s(self._due_s - now_s)
        elif now_s - self._due_s > _NO_CATCHING_UP_S:
            self._due_s = now_s

    def stand_still(self, unread: Callable[[], int]) -> bool:
        """Return True once `unread()` is 0; False when it was not within STAND_STILL_S."""
        if not unread():
            return True
        deadline_s = self._clock.now_s() + STAND_STILL_S
        while unread():
            if self._clock.now_s() >= deadline_s:
                return False
            self._clock.sleep_s(_LOOK_AGAIN_S)
        return True
