"""A line that damages what goes over it: by a seed, on a clock that somebody else moves.

One `Way` for each direction. What goes in is cut into lines; each line may be hit once, and comes
out at a moment of the clock. Nothing here waits.
"""

import heapq
import random
from collections import Counter
from collections.abc import Callable, Sequence

from snapgloss.base.errors import LinkError

KINDS = ("drop", "double", "bits", "garble", "tear", "late", "stall")
LATE_S = (0.3, 2.5)  # the lines behind it come first
STALL_S = (0.3, 2.5)  # the lines behind it wait, too
BYTE_S = 1e-5  # about ten bytes a tenth of a millisecond, as a UART of 1 Mbit/s does


class Way:
    """One direction. `share` of its lines are hit, by one of `kinds`; `hits` counts them."""

    def __init__(self, chance: random.Random, share: float, kinds: Sequence[str] = KINDS) -> None:
        self._chance, self.share, self._kinds = chance, share, kinds
        self._partial = b""
        self._queue: list[tuple[float, int, bytes]] = []
        self._order = 0
        self._held_until_s = 0.0
        self.lines = 0
        self.hits: Counter[str] = Counter()

    def put(self, data: bytes, at_s: float) -> None:
        """Take bytes at `at_s`; a line goes on once it is whole."""
        *whole, self._partial = (self._partial + data).split(b"\n")
        for line in whole:
            self._line(line + b"\n", at_s)

    def due(self, at_s: float) -> bytes:
        """What has come by `at_s`."""
        found = b""
        while self._queue and self._queue[0][0] <= at_s:
            found += heapq.heappop(self._queue)[2]
        return found

    @property
    def next_s(self) -> float:
        """When the next bytes come; never for an empty way."""
        return self._queue[0][0] if self._queue else float("inf")

    def forget(self) -> None:
        """Lose all that is on its way, as when the plug is pulled."""
        self._queue.clear()
        self._partial = b""

    def _line(self, line: bytes, at_s: float) -> None:
        self.lines += 1
        if self._chance.random() >= self.share:
            self._send(line, at_s)
            return
        kind = self._chance.choice(self._kinds)
        self.hits[kind] += 1
        HITS[kind](self, line, at_s)

    def _send(self, line: bytes, at_s: float, late_s: float = 0.0) -> None:
        self._order += 1
        due_s = max(at_s, self._held_until_s) + len(line) * BYTE_S + late_s
        heapq.heappush(self._queue, (due_s, self._order, line))

    def drop(self, _line: bytes, _at_s: float) -> None:
        """Nothing comes."""

    def double(self, line: bytes, at_s: float) -> None:
        """It comes twice."""
        self._send(line, at_s)
        self._send(line, at_s)

    def bits(self, line: bytes, at_s: float) -> None:
        """One to three bits are other ones; the end of the line may be among them."""
        found = bytearray(line)
        for _ in range(self._chance.randint(1, 3)):
            found[self._chance.randrange(len(found))] ^= 1 << self._chance.randrange(8)
        self._send(bytes(found), at_s)

    def garble(self, line: bytes, at_s: float) -> None:
        """Other bytes of the same number in its stead."""
        self._send(self._chance.randbytes(len(line) - 1) + b"\n", at_s)

    def tear(self, line: bytes, at_s: float) -> None:
        """Its end is missing, so it runs into the next one."""
        self._send(line[: self._chance.randrange(1, len(line))], at_s)

    def late(self, line: bytes, at_s: float) -> None:
        """It is overtaken."""
        self._send(line, at_s, self._chance.uniform(*LATE_S))

    def stall(self, line: bytes, at_s: float) -> None:
        """It waits, and all that follows with it."""
        self._held_until_s = max(at_s, self._held_until_s) + self._chance.uniform(*STALL_S)
        self._send(line, at_s)


HITS: dict[str, Callable[[Way, bytes, float], None]] = {
    "drop": Way.drop, "double": Way.double, "bits": Way.bits, "garble": Way.garble,
    "tear": Way.tear, "late": Way.late, "stall": Way.stall,
}  # fmt: skip


def gone(port: str) -> LinkError:
    """What the transport says of a port that is not there any more."""
    return LinkError(f"The rig on {port} is gone: the cable came out.", "Plug it in again.")
