"""One stream of the journal put in order: what is next, what came twice, what is missing."""

from collections import deque
from typing import NamedTuple

from snapgloss.base.records import Event, Reading, Stream

REMEMBERED = 32  # a push may follow the fetch that gave it; more than a few never do
EARLY = 8  # pushes that were on their way when it was said where to begin

Row = Reading | Event


class Gap(NamedTuple):
    """Sequence numbers from_seq..to_seq that will never come; `why` in words."""

    stream: Stream
    from_seq: int
    to_seq: int
    why: str


class Order:
    """Gives the rows of one stream in order, each once. The device numbers them without holes.

    A row that comes too early is kept until what is before it has come or is given up.
    """

    def __init__(self) -> None:
        self.next_seq: int | None = None  # None = begin with whatever comes first
        self._ahead: dict[int, Row] = {}
        self._known_to = -1
        self._began_at = 0
        self._recent: deque[Row] = deque(maxlen=REMEMBERED)

    def begin(self, seq: int) -> None:
        """Forget all; `seq` is wanted first."""
        self.next_seq = self._began_at = seq
        self._ahead.clear()
        self._recent.clear()
        self._known_to = seq - 1

    def expect(self, seq: int) -> None:
        """Know that the rows up to seq, included, exist."""
        self._known_to = max(self._known_to, seq)

    def take(self, row: Row) -> list[Row]:
        """Return what is next now that row came; empty when it came before, or too early."""
        if self.next_seq is None:
            self.next_seq = self._began_at = row.seq
        if row.seq >= self.next_seq:
            self._ahead[row.seq] = row
            self.expect(row.seq)
        return self._drained()

    def give_up(self, to_seq: int) -> list[Row]:
        """Want nothing up to to_seq, included, any more; return what is next then."""
        self.next_seq = max(to_seq + 1, self.next_seq or 0)
        return self._drained()

    def hole(self) -> tuple[int, int] | None:
        """Return the first and last number of the first hole, or None."""
        if self.next_seq is None or self._known_to < self.next_seq:
            return None
        return self.next_seq, min(self._ahead, default=self._known_to + 1) - 1

    def missing(self) -> int:
        """How many rows are known and have not come."""
        if self.next_seq is None:
            return 0
        return max(0, self._known_to + 1 - self.next_seq) - len(self._ahead)

    def is_strange(self, row: Row) -> bool:
        """True for a push that this boot of the rig cannot have sent, as far as is known."""
        if self.next_seq is None or row.seq >= self.next_seq:
            return False
        held = next((one for one in self._recent if one.seq == row.seq), None)
        if held is not None:
            return held != row
        return not self._began_at - EARLY <= row.seq < self._began_at

    def _drained(self) -> list[Row]:
        taken: list[Row] = []
        while self.next_seq is not None and self.next_seq in self._ahead:
            taken.append(self._ahead.pop(self.next_seq))
            self.next_seq += 1
        self._recent.extend(taken)
        return taken
