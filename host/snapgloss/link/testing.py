"""A scripted rig and a clock for tests: the wire is real, the device is a few lists.

Nothing here heats, nothing waits for real time. Not used at run time.
"""

import threading
from collections import deque
from collections.abc import Callable, Sequence

from rigwire import messages
from rigwire.messages import Message
from rigwire.reader import FrameReader
from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES
from snapgloss.base.errors import LinkError

IDLE_WAIT_S = 0.02  # how often the reader thread looks at its stop flag
SETTLE_WAIT_S = 5.0  # a test that waits longer has found a hang


def _nothing() -> None:
    """What follows a request when the script says nothing."""


class ScriptedRig:
    """A Transport with a device behind it, which answers each request once.

    `answers` replaces the answer to a name: (name, values) or None for silence. `deaf_to` is
    how many requests go unheard; `lost_below` the sequence number under which the journal was
    overwritten, per stream. `then` is what the rig does after a request of that name, once.
    """

    def __init__(self) -> None:
        self.readings: list[tuple[int, ...]] = []
        self.events: list[tuple[int, int, int, int]] = []
        self.samples: list[tuple[int, int]] = []
        self.frames: list[bytes] = []
        self.done: list[Message] = []
        self.answers: dict[str, tuple[str, Sequence[int | str]] | None] = {}
        self.deaf_to = 0
        self.lost_below = [0, 0]
        self.body = b""
        self.state_no = STATES.index("off")
        self.board, self.boot_nonce = "scripted", 77
        self.digest, self.simulated = "", 1
        self.then: dict[str, Callable[[], None]] = {}
        self.statuses = 0
        self._answered: dict[int, bytes] = {}
        self._reader = FrameReader()
        self._out: deque[bytes] = deque()
        self._moved = threading.Condition()
        self._reading = False
        self.gone = self.is_closed = False

    def read(self, most_bytes: int) -> bytes:
        """Give the host what waits."""
        with self._moved:
            if not self._out and not self.gone:
                self._reading = True
                self._moved.notify_all()
                self._moved.wait(IDLE_WAIT_S)
            if self._out:
                self._reading = False
                return self._taken(most_bytes)
            if self.gone:
                raise LinkError("The rig is gone: the cable came out.", "Plug it in again.")
            return b""

    def _taken(self, most_bytes: int) -> bytes:
        data = self._out.popleft()
        if len(data) > most_bytes:
            self._out.appendleft(data[most_bytes:])
        return data[:most_bytes]

    def write(self, data: bytes) -> None:
        """Take the host's bytes and answer them."""
        if self.gone:
            raise LinkError("The rig is gone: the cable came out.", "Plug it in again.")
        self.frames.append(data)
        if self.deaf_to:
            self.deaf_to -= 1
            return
        self._reader.feed(data, lambda array, _line: self._heard(array), lambda _text: None)

    def close(self) -> None:
        """Let go."""
        self.is_closed = True

    def send(self, data: bytes) -> None:
        """Put raw bytes on the line."""
        with self._moved:
            self._out.append(data)
            self._moved.notify_all()

    def settle(self) -> None:
        """Wait until the host's reader thread has taken all that was sent."""
        with self._moved:
            settled = self._moved.wait_for(lambda: self._reading and not self._out, SETTLE_WAIT_S)
            assert settled, "the reader thread takes nothing"

    def settled_anew(self) -> None:
        """Forget what was sent and answered, as when another host opens the port."""
        self._out.clear()
        self._answered.clear()
        self.done.clear()

    def unplug(self) -> None:
        """Pull the cable, after what was sent."""
        with self._moved:
            self.gone = True
            self._moved.notify_all()

    def push_reading(self, values: Sequence[int], heard: bool = True) -> None:
        """Journal a reading of the eleven values of the wire, and push it unless not heard."""
        self.readings.append(tuple(values))
        if heard:
            self.send(messages.encode("reading", len(self.readings) - 1, tuple(values)))

    def push_event(
        self, at_ms: int, kind: str, a: int = 0, b: int = 0, heard: bool = True
    ) -> None:
        """Journal an event, and push it unless not heard."""
        self.events.append((at_ms, EVENT_NAMES.index(kind), a, b))
        if heard:
            self.send(messages.encode("event", len(self.events) - 1, (at_ms, kind, a, b)))

    def push_sample(self, sample_mc: int, heard: bool = True) -> None:
        """Journal what the sample probe gave beside the newest reading, and push it likewise."""
        seq = len(self.readings) - 1
        at_ms = self.readings[-1][0]
        self.samples += [(0, messages.MISSING_MC)] * (seq - len(self.samples))
        self.samples.append((at_ms, sample_mc))
        if heard and sample_mc != messages.MISSING_MC:
            self.send(messages.encode("sample", seq, (at_ms, sample_mc)))

    def push_status(self, *values: int) -> None:
        """Push the nine values of `status`."""
        self.send(messages.encode("status", self.statuses, values))
        self.statuses += 1

    def _heard(self, array: list[int | str]) -> None:
        message = messages.parse(array, messages.TO_DEVICE)
        assert message is not None
        if message.name == "hello":
            self._answered.clear()
        answer = self._answered.get(message.number)
        if answer is None:
            self.done.append(message)
            answer = self._answered[message.number] = self._answer(message)
        if answer:
            self.send(answer)
        self.then.pop(message.name, _nothing)()

    def _answer(self, message: Message) -> bytes:
        name, number = message.name, message.number
        if name in self.answers:
            scripted = self.answers[name]
            return (
                b""
                if scripted is None
                else messages.encode(scripted[0], number, list(scripted[1]))
            )
        if name in ("fetch", "fetch_events", "fetch_samples"):
            return self._kept(message)
        values: Sequence[int | str] = ()
        answer = {"hello": "hello_is", "load_done": "held", "ask_status": "status"}.get(name, "ok")
        if name == "hello":
            values = self.hello_values()
        elif name == "load_part":
            self.body += str(message.values[1]).encode()
        elif name == "load_done":
            values = (str(message.values[0]),)
        elif name == "ask_status":
            values = (self.state_no, 0, -1, 0, -1, -1, 0, 0, 0)
        return messages.encode(answer, number, tuple(values))

    def hello_values(self) -> tuple[int | str, ...]:
        """Return the values of hello_is as the lists stand now."""
        newest = len(self.readings) - 1, len(self.events) - 1
        oldest = self.lost_below if self.readings else [-1, -1]
        return (
            messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, "0.1.0", self.board, self.boot_nonce,
            self.digest, self.state_no, 65_000, 100, oldest[0], newest[0], oldest[1], newest[1],
            self.simulated,
        )  # fmt: skip

    def _kept(self, message: Message) -> bytes:
        streams: dict[str, tuple[int, str, int, Sequence[tuple[int, ...]]]] = {
            "fetch": (0, "batch", 3, self.readings),
            "fetch_events": (1, "events", 4, self.events),
            "fetch_samples": (0, "samples", 8, self.samples),
        }
        stream, name, most, kept = streams[message.name]
        first, lost = message.values[0], self.lost_below[stream]
        if first < lost:
            return messages.encode("lost", message.number, (stream, first, lost - 1))
        return messages.encode(name, message.number, (first,), list(kept[first : first + most]))


class ScriptedClock:
    """A clock that stands still until something waits for longer than the rig takes."""

    def __init__(self, rig: ScriptedRig) -> None:
        self._rig = rig
        self.at_s = 0.0

    def now_s(self) -> float:
        """Seconds waited so far."""
        return self.at_s

    def wait(self, ready: threading.Event, at_most_s: float) -> bool:
        """Let the rig's bytes arrive; if ready is not set then, at_most_s has passed."""
        if self._rig.gone:
            ready.wait(SETTLE_WAIT_S)  # the reader thread meets it and sets ready
        else:
            self._rig.settle()
        if not ready.is_set():
            self.at_s += at_most_s
        return ready.is_set()
