"""Requests and answers over one transport, and the thread that reads it.

The thread owns reading. It hands answers to the request that waits, pushes to `on_push`, and
everything else to `on_text`. When the transport fails it keeps the LinkError, wakes whoever
waits, and ends: an unplugged cable is met in this one place.

A request that gets no answer is sent again with the same id and the same bytes, so the device
does it once however often the line loses it.
"""

import itertools
import threading
from collections.abc import Callable

from rigwire import messages
from rigwire.errors import MessageRefused
from rigwire.messages import Message
from rigwire.reader import FrameReader
from snapgloss.base.errors import LinkError, RigError, VersionError
from snapgloss.link.clock import WaitingClock
from snapgloss.link.transport import Transport

READ_MOST_BYTES = 4096
ANSWER_WAIT_S = 1.0  # four loops of the device
TRIES = 6
ID_FIRST = 1_000_000  # away from the sequence numbers of pushed `status`
STOP_WAIT_S = 2.0

ANSWERS = {
    "hello": ("hello_is",),
    "load_done": ("held",),
    "ask_status": ("status",),
    "fetch": ("batch", "lost"),
    "fetch_events": ("events", "lost"),
}
PUSHES = ("reading", "event", "status")


class _Pending:
    """The one request under way, and the answer once it is there."""

    def __init__(self, number: int, names: tuple[str, ...]) -> None:
        self.number, self.names = number, names
        self.answer: Message | None = None
        self.other_major: tuple[int, int] | None = None
        self.ready = threading.Event()


class Exchange:
    """Sends requests one at a time; starts its reader thread at once."""

    def __init__(
        self,
        transport: Transport,
        clock: WaitingClock,
        on_push: Callable[[Message], None],
        on_text: Callable[[bytes], None],
    ) -> None:
        self._transport, self._clock = transport, clock
        self._on_push, self._on_text = on_push, on_text
        self._reader = FrameReader()
        self._ids = itertools.count(ID_FIRST)
        self._one_at_a_time = threading.Lock()
        self._pending: _Pending | None = None
        self._closing = threading.Event()
        self.failure: LinkError | None = None
        self.failed = threading.Event()
        self._thread = threading.Thread(target=self._read_on, name="rig reader", daemon=True)
        self._thread.start()

    def request(self, name: str, *values: int | str) -> Message:
        """Send one request and return its answer.

        Raises RigError when the device says no, VersionError when it speaks another major,
        LinkError when it does not answer TRIES times or is gone.
        """
        with self._one_at_a_time:
            number = next(self._ids)
            pending = _Pending(number, ANSWERS.get(name, ("ok",)))
            self._pending = pending
            try:
                self._ask(pending, bytes(messages.encode(name, number, values)))
            finally:
                self._pending = None
        return _accepted(name, pending)

    def close(self) -> None:
        """End the thread and let the port go."""
        self._closing.set()
        self._thread.join(STOP_WAIT_S)
        self._transport.close()

    def _ask(self, pending: _Pending, frame: bytes) -> None:
        for _ in range(TRIES):
            if self.failure is not None:
                raise self.failure
            self._transport.write(frame)
            if self._clock.wait(pending.ready, ANSWER_WAIT_S):
                break
        if self.failure is not None and pending.answer is None:
            raise self.failure

    def _read_on(self) -> None:
        while not self._closing.is_set():
            try:
                data = self._transport.read(READ_MOST_BYTES)
            except LinkError as fault:
                if not self._closing.is_set():
                    self._fail(fault)
                return
            if data:
                self._reader.feed(data, self._frame, self._on_text)

    def _fail(self, fault: LinkError) -> None:
        self.failure = fault
        self.failed.set()
        if self._pending is not None:
            self._pending.ready.set()
        self._on_text(b"")  # wakes a host that waits for pushes

    def _frame(self, array: list[int | str], line: bytes) -> None:
        try:
            message = messages.parse(array, messages.TO_HOST, True)
        except MessageRefused:
            if not self._other_major(array):
                self._on_text(line)
            return
        if message is None or self._is_answer(message):
            return  # None: a name that only a newer rig knows
        if message.name in PUSHES:
            self._on_push(message)

    def _is_answer(self, message: Message) -> bool:
        pending = self._pending
        if pending is None or message.number != pending.number or pending.ready.is_set():
            return False
        if message.name != "no" and message.name not in pending.names:
            return False
        pending.answer = message
        pending.ready.set()
        return True

    def _other_major(self, array: list[int | str]) -> bool:
        """Notice a hello_is of another shape: its second and third values stay where they are."""
        pending = self._pending
        if pending is None or array[0] != "hello_is" or len(array) < 4:
            return False
        major, minor = array[2], array[3]
        if not isinstance(major, int) or not isinstance(minor, int):
            return False
        if major == messages.PROTOCOL_MAJOR or pending.number != array[1]:
            return False
        pending.other_major = (major, minor)
        pending.ready.set()
        return True


def _accepted(name: str, pending: _Pending) -> Message:
    answer = pending.answer
    if pending.other_major is not None:
        raise version_error(*pending.other_major)
    if answer is None:
        raise LinkError(
            f"The rig does not answer ({name}, asked {TRIES} times).",
            "Look whether it is on and whether this is its port: `snapgloss ports`.",
        )
    if answer.name == "no":
        raise RigError(
            f"The rig says no: {answer.get('words')} ({answer.get('code')}).",
            "Do what it names, then try again.",
        )
    return answer


def version_error(major: int, minor: int) -> VersionError:
    """Say which side to update: the one with the lower major."""
    ours = f"{messages.PROTOCOL_MAJOR}.{messages.PROTOCOL_MINOR}"
    newer = major > messages.PROTOCOL_MAJOR
    return VersionError(
        f"The rig speaks version {major}.{minor} of the wire, this program {ours}.",
        "Update this program." if newer else "Update the rig's firmware.",
    )
