"""Requests and answers over one transport, and the thread that reads it.

The thread owns reading. It hands answers to the request that waits, pushes to `on_push`, and
everything else to `on_text`. When the transport fails it keeps the LinkError, wakes whoever
waits, and ends: an unplugged cable is met in this one place.

A request that gets no answer is sent again with the same id and the same bytes, so the device
does it once however often the line loses it. Several requests may be under way at once, from one
thread or from several: `off` never waits for another that hangs.
"""

import itertools
import random
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
ID_LEAST, ID_MOST = 100_000_000, 1_000_000_000  # away from the numbers of pushed `status`
STOP_WAIT_S = 2.0

ANSWERS = {
    "hello": ("hello_is",),
    "load_done": ("held",),
    "ask_status": ("status",),
    "fetch": ("batch", "lost"),
    "fetch_events": ("events", "lost"),
    "fetch_samples": ("samples", "lost"),
}
PUSHES = ("reading", "sample", "event", "status")
NOT_KNOWN = ("message", "not_here")
"""Codes of a refusal that say that the rig does not know the request."""
OLDER = "Update the rig's firmware: it does not know this request."
HEARD_BYTES = 1024  # of what came since the last frame of a rig


class Pending:
    """A request under way, and the answer once it is there."""

    def __init__(self, name: str, number: int, frame: bytes) -> None:
        self.name, self.number, self.frame = name, number, frame
        self.names = ANSWERS.get(name, ("ok",))
        self.answer: Message | None = None
        self.other_major: tuple[int, int] | None = None
        self.ready = threading.Event()


class Exchange:
    """Sends requests and matches answers; starts its reader thread at once.

    `is_rig` is True once a frame of a rig came; `heard` is what came since the last one.
    """

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
        # A late answer to a host that died here must not pass for one to this host.
        self._ids = itertools.count(random.randrange(ID_LEAST, ID_MOST))
        self._one_writer = threading.Lock()
        self._pending: dict[int, Pending] = {}
        self.heard = b""
        self.is_rig = False
        self._closing = threading.Event()
        self.failure: LinkError | None = None
        self.failed = threading.Event()
        self._thread = threading.Thread(target=self._read_on, name="rig reader", daemon=True)
        self._thread.start()

    def request(
        self, name: str, *values: int | str, give_up: Callable[[], bool] = lambda: False
    ) -> Message:
        """Send one request and return its answer; `give_up` ends the trying early.

        Raises RigError when the device says no, VersionError when it speaks another major,
        LinkError when it does not answer TRIES times or is gone.
        """
        return self.answer(self.send(name, *values), give_up)

    def send(self, name: str, *values: int | str) -> Pending:
        """Send one request and do not wait; `answer` must be called for it."""
        number = next(self._ids)
        pending = Pending(name, number, bytes(messages.encode(name, number, values)))
        self._pending[number] = pending
        try:
            self._write(pending)
        except LinkError:
            self.forget(pending)
            raise
        return pending

    def answer(self, pending: Pending, give_up: Callable[[], bool] = lambda: False) -> Message:
        """Wait for the answer of a request that was sent. Raises as `request`."""
        try:
            for left in range(TRIES - 1, -1, -1):
                if self._clock.wait(pending.ready, ANSWER_WAIT_S) or give_up():
                    break
                if left:
                    self._write(pending)
            if self.failure is not None and pending.answer is None:
                raise self.failure
        finally:
            self.forget(pending)
        return _accepted(pending)

    def forget(self, pending: Pending) -> None:
        """Expect no answer to it any more."""
        self._pending.pop(pending.number, None)

    def close(self) -> None:
        """End the thread and let the port go."""
        self._closing.set()
        self._thread.join(STOP_WAIT_S)
        self._transport.close()

    def _write(self, pending: Pending) -> None:
        if self.failure is not None:
            raise self.failure
        with self._one_writer:
            self._transport.write(pending.frame)

    def _read_on(self) -> None:
        while not self._closing.is_set():
            try:
                data = self._transport.read(READ_MOST_BYTES)
            except LinkError as fault:
                if not self._closing.is_set():
                    self._fail(fault)
                return
            if data:
                self.heard = (self.heard + data)[-HEARD_BYTES:]
                self._reader.feed(data, self._frame, self._on_text)

    def _fail(self, fault: LinkError) -> None:
        self.failure = fault
        self.failed.set()
        for pending in list(self._pending.values()):
            pending.ready.set()
        self._on_text(b"")  # wakes a host that waits for pushes

    def _frame(self, array: list[int | str], line: bytes) -> None:
        try:
            message = messages.parse(array, messages.TO_HOST, True)
        except MessageRefused:
            if not self._other_major(array):
                self._on_text(line)
            return
        self.is_rig, self.heard = True, b""
        if message is None or self._is_answer(message):
            return  # None: a name that only a newer rig knows
        if message.name in PUSHES:
            self._on_push(message)

    def _is_answer(self, message: Message) -> bool:
        pending = self._pending.get(message.number)
        if pending is None or pending.ready.is_set():
            return False
        if message.name != "no" and message.name not in pending.names:
            return False
        pending.answer = message
        pending.ready.set()
        return True

    def _other_major(self, array: list[int | str]) -> bool:
        """Notice a hello_is of another shape: its second and third values stay where they are."""
        if array[0] != "hello_is" or len(array) < 4 or not isinstance(array[1], int):
            return False
        pending = self._pending.get(array[1])
        major, minor = array[2], array[3]
        if not isinstance(major, int) or not isinstance(minor, int):
            return False
        if pending is None or major == messages.PROTOCOL_MAJOR:
            return False
        pending.other_major = (major, minor)
        pending.ready.set()
        return True


def _accepted(pending: Pending) -> Message:
    answer = pending.answer
    if pending.other_major is not None:
        raise version_error(*pending.other_major)
    if answer is None:
        raise LinkError(
            f"The rig does not answer ({pending.name}, asked {TRIES} times).",
            "Look whether it is on and whether this is its port: `snapgloss ports`.",
        )
    if answer.name == "no":
        older = answer.get("code") in NOT_KNOWN
        raise RigError(
            f"The rig says no: {answer.get('words')} ({answer.get('code')}).",
            OLDER if older else "Do what it names, then try again.",
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
