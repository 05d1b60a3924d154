"""What all who watch are told: the curve as numbered points, and the newest moment.

Written by the session's thread, read from any. Nobody is waited for: who is slow takes more
points at a time, and nothing is kept for anybody.
"""

import secrets
import threading
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.runs.live.moment import NOBODY, Moment

POINTS_MOST = 60_000
"""Sixteen hours at one a second; then every second point goes."""


class Point(NamedTuple):
    """One point of the curve; seconds since the batch began, milli-degC or None, thousandths."""

    at_s: float
    product_mc: int | None
    target_mc: int | None
    plate_mc: int | None
    heat_permille: int


class Piece(NamedTuple):
    """Points from number `first` on, and the newest moment with the age of its reading.

    `epoch` changes when the points began anew; numbers of another epoch mean nothing.
    """

    epoch: str
    first: int
    points: Sequence[Point]
    moment: Moment
    age_s: float

    @property
    def next(self) -> int:
        """The number to ask for next."""
        return self.first + len(self.points)


class Feed:
    """See above. `clock` is for tests."""

    def __init__(self, clock: Clock | None = None) -> None:
        self._clock = clock or SystemClock()
        self._lock = threading.Lock()
        self._points: list[Point] = []
        self._moment = NOBODY
        self._heard_at_s: float | None = None
        self._listeners: set[Callable[[], None]] = set()
        self.epoch = _new_epoch()

    def begin_anew(self, points: Iterable[Point] = ()) -> None:
        """Another batch, or the same one told from its beginning."""
        with self._lock:
            self.epoch, self._points = _new_epoch(), list(points)

    def tell(self, moment: Moment, points: Sequence[Point] = (), is_heard: bool = False) -> None:
        """Take a moment and the points since the last; `is_heard`: the rig gave a reading now."""
        with self._lock:
            self._moment = moment
            self._points += points
            if len(self._points) > POINTS_MOST:
                self.epoch, self._points = _new_epoch(), self._points[::2]
            if is_heard:
                self._heard_at_s = self._clock.now_s()
            listeners = list(self._listeners)
        for listener in listeners:
            listener()

    def since(self, epoch: str, first: int) -> Piece:
        """Return what is newer than that; all of it for another epoch."""
        with self._lock:
            if epoch != self.epoch or not 0 <= first <= len(self._points):
                first = 0
            return Piece(self.epoch, first, self._points[first:], self._moment, self.age_s())

    @property
    def moment(self) -> Moment:
        """The newest moment."""
        return self._moment

    def listen(self, listener: Callable[[], None]) -> Callable[[], None]:
        """Call `listener` after each change, from the session's thread; returns how to end it."""
        with self._lock:
            self._listeners.add(listener)
        return lambda: self._listeners.discard(listener)

    def age_s(self) -> float:
        """Seconds since the last reading; -1 when there was none yet."""
        return -1.0 if self._heard_at_s is None else self._clock.now_s() - self._heard_at_s


def _new_epoch() -> str:
    return secrets.token_hex(4)
