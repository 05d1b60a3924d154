"""A rig as the host talks to it: the verbs of the wire, and what it tells, in order."""

import threading
from collections import deque
from collections.abc import Callable, Sequence

from rigwire import messages, schedule
from rigwire.messages import Message
from rigwire.tables import ADDITIONS, PROMPTS
from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import STREAMS, Event, Identity, Reading, Status, Stream
from snapgloss.link import decode
from snapgloss.link.clock import SystemWaitingClock, WaitingClock
from snapgloss.link.decode import Record
from snapgloss.link.exchange import Exchange, version_error
from snapgloss.link.streams import Gap, Order
from snapgloss.link.transport import Transport

PART_BYTES = 80  # the wire's longest text
INBOX_MOST = 20_000  # a full inbox drops what comes; the journal gives it back as a gap
CONSOLE_MOST_BYTES = 16_384  # the newest console text; a traceback is about 1 KB
OVERWRITTEN = "overwritten on the rig before it was fetched"
NOT_GIVEN = "the rig did not give them when asked"
FETCHES: dict[Stream, str] = {"readings": "fetch", "events": "fetch_events"}


class RigLink:
    """One rig over one transport. Its methods belong to one thread; `off` may come from any.

    `take` gives readings and events in the order of their sequence numbers, each once. What a
    push lost is fetched; what the rig overwrote comes as a Gap.
    """

    def __init__(self, transport: Transport, clock: WaitingClock | None = None) -> None:
        self._clock = clock or SystemWaitingClock()
        self._inbox: deque[Message] = deque()
        self._arrived = threading.Event()
        self._console: deque[bytes] = deque()
        self._console_bytes = 0
        self._orders: dict[Stream, Order] = {stream: Order() for stream in STREAMS}
        self.identity: Identity | None = None
        self._exchange = Exchange(transport, self._clock, self._keep_push, self._keep_text)

    def hello(self, host_version: str) -> Identity:
        """Introduce the host and learn who is there. Must come first.

        Raises VersionError when the majors differ, LinkError when nobody answers.
        """
        answer = self._exchange.request(
            "hello", messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, host_version[:40]
        )
        found = decode.identity(answer)
        if found.major != messages.PROTOCOL_MAJOR:
            raise version_error(found.major, found.minor)
        self.identity = found
        return found

    def follow_from(self, reading_seq: int, event_seq: int) -> None:
        """Take the journal from these sequence numbers on; earlier ones are not wanted."""
        self._orders["readings"].next_seq = reading_seq
        self._orders["events"].next_seq = event_seq

    def upload(self, body: bytes) -> str:
        """Send a schedule body and return its digest, as held by the rig.

        Raises RigError when the rig refuses, or holds another digest than was sent.
        """
        ask, digest = self._exchange.request, schedule.digest(body)
        ask("load_open", len(body), digest)
        for offset in range(0, len(body), PART_BYTES):
            ask("load_part", offset, body[offset : offset + PART_BYTES].decode("ascii"))
        held = str(ask("load_done", digest).get("digest"))
        if held != digest:
            raise RigError(
                f"The rig holds schedule {held}, not {digest} as sent.", "Send it again."
            )
        return digest

    def ask_start(self, digest: str) -> None:
        """Open the start window for this schedule. A person must press on the rig."""
        self._exchange.request("ask_start", digest)

    def off(self) -> None:
        """Turn all off; the rig never refuses it."""
        self._exchange.request("off")

    def answer(self, prompt: str) -> None:
        """Answer a waiting prompt by its name in rigwire.tables.PROMPTS."""
        self._exchange.request("answer", PROMPTS.index(prompt))

    def declare(self, addition: str, grams: int) -> None:
        """Tell the rig that something is added or taken out now (rigwire.tables.ADDITIONS)."""
        self._exchange.request("declare", ADDITIONS.index(addition), grams)

    def ask_status(self) -> Status:
        """Return where the rig is now."""
        return decode.status(self._exchange.request("ask_status"))

    def take(self) -> list[Record]:
        """Return what came since the last call; does not wait, but fetches what is missing.

        Raises LinkError once the cable is out and all that came before was taken.
        """
        self._arrived.clear()
        taken: list[Record] = []
        while self._inbox:
            taken += self._in_order(self._inbox.popleft())
        if not taken and self._exchange.failure is not None:
            raise self._exchange.failure
        return taken

    def wait(self, at_most_s: float) -> bool:
        """Wait until something came or the cable is out; tell whether it did."""
        if self._inbox or self._exchange.failure is not None:
            return True
        return self._clock.wait(self._arrived, at_most_s)

    def pause(self, for_s: float) -> None:
        """Let more arrive, so that one `take` serves many pushes; ends early when unplugged."""
        if self._exchange.failure is None:
            self._clock.wait(self._exchange.failed, for_s)

    def now_s(self) -> float:
        """Seconds of the clock this link waits by."""
        return self._clock.now_s()

    def catch_up(self, reading_seq: int, event_seq: int) -> list[Record]:
        """Return what came, and what is missing up to these sequence numbers, both included.

        They are the newest of a hello: a rig that goes on has always something newer.
        """
        taken = self.take()
        taken += self._fetch_until("readings", reading_seq + 1)
        return taken + self._fetch_until("events", event_seq + 1)

    def take_console(self) -> str:
        """Return the console text kept since the last call (the newest 16 KB)."""
        text = b"".join(self._drain_console())
        return text.decode("utf-8", "replace")

    def close(self) -> None:
        """Let the port go. The rig carries on by itself."""
        self._exchange.close()

    def _drain_console(self) -> Sequence[bytes]:
        found = []
        while self._console:
            found.append(self._console.popleft())
        self._console_bytes = 0
        return found

    def _keep_push(self, message: Message) -> None:
        """Reader thread: keep a push. A full inbox drops it; sequence numbers tell later."""
        if len(self._inbox) < INBOX_MOST:
            self._inbox.append(message)
        self._arrived.set()

    def _keep_text(self, data: bytes) -> None:
        """Reader thread: keep console text, the oldest dropped first."""
        if data:
            self._console.append(data)
            self._console_bytes += len(data)
            while self._console_bytes > CONSOLE_MOST_BYTES and len(self._console) > 1:
                self._console_bytes -= len(self._console.popleft())
        self._arrived.set()

    def _in_order(self, message: Message) -> list[Record]:
        if message.name == "status":
            return [decode.status(message)]
        if message.name == "reading":
            return self._placed("readings", decode.reading(message.number, message.values))
        return self._placed("events", decode.event(message))

    def _placed(self, stream: Stream, record: Reading | Event) -> list[Record]:
        order = self._orders[stream]
        place = order.place(record.seq)
        if place == "next":
            return [record]
        if place == "seen" or order.next_seq is None:
            return []
        before = self._fetch_until(stream, record.seq)
        if order.next_seq < record.seq:
            before.append(Gap(stream, order.next_seq, record.seq - 1, NOT_GIVEN))
            order.skip_to(record.seq)
        return [*before, record] if order.place(record.seq) == "next" else before

    def _fetch_until(self, stream: Stream, seq: int) -> list[Record]:
        """Fetch what the stream misses before seq; moves the order on."""
        order, found = self._orders[stream], list[Record]()
        while order.next_seq is not None and order.next_seq < seq:
            answer = self._exchange.request(FETCHES[stream], order.next_seq)
            if answer.name == "lost":
                found.append(self._gap(stream, answer))
                continue
            fetched = _unpack(answer)
            fresh = [one for one in fetched if order.place(one.seq) == "next"]
            if not fresh:
                break
            found += fresh
        return found

    def _gap(self, stream: Stream, answer: Message) -> Gap:
        first, last = decode.lost_range(answer)
        order = self._orders[stream]
        if order.next_seq is None or last < order.next_seq:
            raise LinkError(
                f"The rig calls {stream} {first} to {last} lost, which were not asked for.",
                "Update the rig's firmware; this is a fault in it.",
            )
        order.skip_to(last + 1)
        return Gap(stream, first, last, OVERWRITTEN)


def _unpack(answer: Message) -> Sequence[Reading | Event]:
    unpack: Callable[[Message], Sequence[Reading | Event]] = (
        decode.readings if answer.name == "batch" else decode.events
    )
    return unpack(answer)
