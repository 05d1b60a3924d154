"""The two streams of a rig's journal, each in order and whole: pushes, and fetches for holes."""

from collections.abc import Sequence

from rigwire import views
from rigwire.messages import Message
from snapgloss.base.errors import LinkError
from snapgloss.base.records import STREAMS, Event, Reading, Stream
from snapgloss.link import decode
from snapgloss.link.decode import Record
from snapgloss.link.exchange import Exchange
from snapgloss.link.streams import Gap, Order

WINDOW = 4  # fetches under way at once; the rig remembers 8 answers
OVERWRITTEN = "overwritten on the rig before it was fetched"
NOT_GIVEN = "the rig did not give them when asked"
FETCHES: dict[Stream, str] = {"readings": "fetch", "events": "fetch_events"}
_MOST_ROWS = {row[0]: row[4] for row in views.TABLE}
ROWS_A_FETCH: dict[Stream, int] = {
    "readings": _MOST_ROWS["batch"],
    "events": _MOST_ROWS["events"],
}


class Following:
    """Follows one boot of a rig. What is found goes to the end of a list that the caller gives,
    so that nothing is lost when a fetch fails half-way."""

    def __init__(self, exchange: Exchange) -> None:
        self._exchange = exchange
        self._orders: dict[Stream, Order] = {stream: Order() for stream in STREAMS}
        self._last_status = -1

    def begin(self, reading_seq: int, event_seq: int) -> None:
        """Take the journal from these sequence numbers on; earlier ones are not wanted."""
        self._orders["readings"].begin(reading_seq)
        self._orders["events"].begin(event_seq)

    def expect(self, reading_seq: int, event_seq: int) -> None:
        """Know that the journal reaches this far."""
        self._orders["readings"].expect(reading_seq)
        self._orders["events"].expect(event_seq)

    def behind(self) -> int:
        """How many readings and events are known and still to be fetched."""
        return sum(order.missing() for order in self._orders.values())

    def is_before(self, reading_seq: int, event_seq: int) -> bool:
        """True until these sequence numbers, and all before them, were taken or given up."""
        ends = {"readings": reading_seq, "events": event_seq}
        return any(
            order.next_seq is not None and order.next_seq <= ends[stream]
            for stream, order in self._orders.items()
        )

    def is_strange(self, push: Message) -> bool:
        """True for a push that the boot we follow cannot have sent, as far as we know."""
        if push.name == "status":
            last, self._last_status = self._last_status, push.number
            return push.number <= last
        if push.name == "sample":
            return False  # the reading before it would have been
        return self._orders[_stream(push)].is_strange(_row(push))

    def take(self, push: Message) -> Sequence[Record]:
        """Return what is next now that something was pushed; status and sample go through."""
        if push.name == "status":
            return [decode.status(push)]
        if push.name == "sample":
            return [decode.sample(push)]
        return self._orders[_stream(push)].take(_row(push))

    def fetch_some(self, found: list[Record]) -> None:
        """Fetch a window of the first hole of each stream."""
        for stream in STREAMS:
            hole = self._orders[stream].hole()
            if hole is not None:
                self._fetch(found, stream, *hole)

    def _fetch(self, found: list[Record], stream: Stream, first: int, last: int) -> None:
        """Fetch from first on, last at most, with WINDOW requests under way."""
        rows = ROWS_A_FETCH[stream]
        starts = range(first, min(last + 1, first + rows * WINDOW), rows)
        asked = [self._exchange.send(FETCHES[stream], seq) for seq in starts]
        try:
            for seq, pending in zip(starts, asked, strict=True):
                found += self._fetched(stream, seq, last, self._exchange.answer(pending))
        finally:
            for pending in asked:
                self._exchange.forget(pending)
        if self._orders[stream].next_seq == first:
            found.append(Gap(stream, first, last, NOT_GIVEN))
            found += self._orders[stream].give_up(last)

    def _fetched(self, stream: Stream, seq: int, last: int, answer: Message) -> list[Record]:
        """Return what one answer brings; `last` is where the hole ends."""
        order, found = self._orders[stream], list[Record]()
        if answer.name == "lost":
            _, lost_to = decode.lost_range(answer)
            if lost_to < seq:
                raise LinkError(
                    f"The rig calls {stream} up to {lost_to} lost, asked from {seq} on.",
                    "Update the rig's firmware; this is a fault in it.",
                )
            begins, ends = order.next_seq or 0, min(lost_to, last)
            if begins <= ends:
                found.append(Gap(stream, begins, ends, OVERWRITTEN))
                found += order.give_up(ends)
            return found
        for row in _rows(answer):
            found += order.take(row)
        return found


def _stream(message: Message) -> Stream:
    return "readings" if message.name == "reading" else "events"


def _row(message: Message) -> Reading | Event:
    if message.name == "reading":
        return decode.reading(message.number, message.values)
    return decode.event(message)


def _rows(answer: Message) -> Sequence[Reading | Event]:
    return decode.readings(answer) if answer.name == "batch" else decode.events(answer)
