"""One stream of the journal put in order: what is next, what came twice, what is missing."""

from typing import Literal, NamedTuple

from snapgloss.base.records import Stream


class Gap(NamedTuple):
    """Sequence numbers from_seq..to_seq that will never come; `why` in words."""

    stream: Stream
    from_seq: int
    to_seq: int
    why: str


class Order:
    """Knows the next sequence number of a stream. The device gives them without holes."""

    def __init__(self) -> None:
        self.next_seq: int | None = None  # None = begin with whatever comes first

    def place(self, seq: int) -> Literal["next", "seen", "ahead"]:
        """Tell how seq lies to what was taken; takes it when it is next."""
        if self.next_seq is None or seq == self.next_seq:
            self.next_seq = seq + 1
            return "next"
        return "seen" if seq < self.next_seq else "ahead"

    def skip_to(self, seq: int) -> None:
        """Give up what lies before seq."""
        if self.next_seq is None or seq > self.next_seq:
            self.next_seq = seq
