"""How much one address may ask for. Figures are own choices, after usual advice for small APIs.

The OWASP cheat sheet on WebSockets starts from 100 messages a minute (from memory); a page here
sends a message for each key typed into a note, so short bursts are let through.
"""

from collections import OrderedDict
from typing import NamedTuple

from snapgloss.base.clock import Clock

PEERS_MOST = 1000


class Rate(NamedTuple):
    """So many at once, and so many a second over time."""

    burst: int
    per_s: float


REQUESTS = Rate(400, 40.0)  # five pages of a new browser load 150 files
COMMANDS = Rate(30, 2.0)
MESSAGES = Rate(120, 10.0)  # on one socket
FAILURES = Rate(10, 1 / 30)  # wrong keys
BODY_MOST_BYTES = 64 * 1024
MESSAGE_MOST_BYTES = 64 * 1024
BODY_WITHIN_S = 10.0
LARGE_BYTES_PER_S = 250_000  # what a tablet far from its access point still sends (own choice)
SOCKETS_MOST = 60
"""Streams and sockets open at once, of all pages; a page has one of each."""


def body_within_s(most_bytes: int) -> float:
    """Seconds that a body of at most so many bytes may take: longer where photos are let in."""
    return BODY_WITHIN_S + max(0, most_bytes - BODY_MOST_BYTES) / LARGE_BYTES_PER_S


class Bucket:
    """Fills by `per_s` up to `burst`; each taking empties it by one."""

    def __init__(self, allowed: Rate, now_s: float) -> None:
        self._rate, self._left, self._at_s = allowed, float(allowed.burst), now_s

    def take(self, now_s: float) -> bool:
        """Take one; False when there is none."""
        self._fill(now_s)
        if self._left < 1:
            return False
        self._left -= 1
        return True

    def is_empty(self, now_s: float) -> bool:
        """True when there is none to take."""
        self._fill(now_s)
        return self._left < 1

    def _fill(self, now_s: float) -> None:
        gained = (now_s - self._at_s) * self._rate.per_s
        self._left = min(float(self._rate.burst), self._left + gained)
        self._at_s = now_s


class Rates:
    """A bucket for each address; the one unused for longest is forgotten first."""

    def __init__(self, allowed: Rate, clock: Clock) -> None:
        self._rate, self._clock = allowed, clock
        self._buckets: OrderedDict[str, Bucket] = OrderedDict()

    def take(self, peer: str) -> bool:
        """Take one for an address; False when it has asked too much."""
        return self._bucket(peer).take(self._clock.now_s())

    def is_empty(self, peer: str) -> bool:
        """True when an address has asked too much already."""
        return self._bucket(peer).is_empty(self._clock.now_s())

    def _bucket(self, peer: str) -> Bucket:
        bucket = self._buckets.get(peer)
        if bucket is None:
            bucket = self._buckets[peer] = Bucket(self._rate, self._clock.now_s())
        self._buckets.move_to_end(peer)
        if len(self._buckets) > PEERS_MOST:
            self._buckets.popitem(last=False)
        return bucket
