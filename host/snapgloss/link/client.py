"""A rig as the host talks to it: the verbs of the wire, and what it tells, in order."""

import threading
from binascii import b2a_base64
from collections import deque
from collections.abc import Sequence

from rigwire import messages, schedule
from rigwire.frames import MAX_INTEGER
from rigwire.messages import Message
from rigwire.tables import ADDITIONS, PROMPTS
from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import Identity, Sample, Status
from snapgloss.link import decode
from snapgloss.link.clock import SystemWaitingClock, WaitingClock
from snapgloss.link.clock_drift import DriftWatch
from snapgloss.link.decode import Record, Taken
from snapgloss.link.exchange import Exchange, version_error
from snapgloss.link.following import Following
from snapgloss.link.strangers import AT_PROMPT, REPEATS, SOMETHING_ELSE
from snapgloss.link.transport import Transport

PART_BYTES = 80  # the wire's longest text
INBOX_MOST = 20_000  # a full inbox drops what comes; the journal gives it back as a gap
CONSOLE_MOST_BYTES = 16_384  # the newest; a traceback is about 1 KB
PROMPT_SIGNS = (b">>> ", b"raw REPL")
ECHO_SIGN = b'["hello",'  # our own: a prompt that was there before us shows no other sign
BEAT_EVERY_S = 10.0  # the rig takes a hole of 20 s for a host that slept
BEAT_MINOR = 2  # the first version of the wire that knows it
SAMPLE_MINOR = 3


class RigLink:
    """One rig over one transport. Its methods belong to one thread, but `off`, `answer` and
    `declare`. `on_taken`, then `beside`, is given all that `take` returns, before its caller.

    `take` gives readings and events in the order of their sequence numbers, each once. What a
    push lost is fetched; what the rig overwrote comes as a Gap, a rig that started anew as a Boot.
    """

    def __init__(self, transport: Transport, clock: WaitingClock | None = None) -> None:
        self._clock = clock or SystemWaitingClock()
        self._inbox: deque[Message] = deque()
        self._arrived = threading.Event()
        self._console: deque[bytes] = deque()
        self._console_bytes = 0
        self.identity: Identity | None = None
        self._followed: Identity | None = None
        self._host_version = ""
        self._beat_at_s = 0.0
        self.on_taken: Taken = lambda _records: None
        self.clock_watch = DriftWatch()
        self.beside: Taken = self.on_taken  # of who owns neither the link nor the batch
        self._exchange = Exchange(transport, self._clock, self._keep_push, self._keep_text)
        self._following = Following(self._exchange)

    def hello(self, host_version: str) -> Identity:
        """Introduce the host and learn who is there. Must come first.

        Raises VersionError when the majors differ, LinkError when nobody answers.
        """
        self._host_version = host_version[:40]
        answer = self._say_hello()
        found = decode.identity(answer)
        if found.major != messages.PROTOCOL_MAJOR:
            raise version_error(found.major, found.minor)
        self.identity = found
        self._followed = self._followed or found
        return found

    def _say_hello(self) -> Message:
        """Nothing but this is ever sent to a board that does not answer: no Ctrl-C, no reset."""
        major, minor = messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR
        try:
            return self._exchange.request(
                "hello", major, minor, self._host_version, give_up=self._is_at_prompt
            )
        except LinkError:
            talks = self._who_talks()
            if self._exchange.failure is None and talks is not None:
                raise LinkError(*talks) from None
            raise

    def _is_at_prompt(self) -> bool:
        heard = self._exchange.heard
        return any(sign in heard for sign in (*PROMPT_SIGNS, ECHO_SIGN))

    def _who_talks(self) -> tuple[str, str] | None:
        """Who answers in a rig's stead; None for nobody, and for a rig that fell silent."""
        heard = self._exchange.heard
        if any(sign in heard for sign in PROMPT_SIGNS):
            return AT_PROMPT
        if ECHO_SIGN in heard:
            return REPEATS
        is_stranger = heard.strip(b"\0\r\n ") and not self._exchange.is_rig
        return SOMETHING_ELSE if is_stranger else None

    def follow_from(self, reading_seq: int, event_seq: int) -> None:
        """Take the journal from these sequence numbers on; earlier ones are not wanted."""
        self._following.begin(reading_seq, event_seq)

    def expect(self, reading_seq: int, event_seq: int) -> None:
        """Know that the journal reaches this far; `take` fetches what is missing, bit by bit."""
        self._following.expect(reading_seq, event_seq)

    def behind(self) -> int:
        """How many readings and events are known and still to be fetched."""
        return self._following.behind()

    def upload(self, body: bytes) -> str:
        """Send a schedule body and return its digest, as held by the rig.

        Raises RigError when the rig refuses, or holds another digest than was sent.
        """
        digest = self._in_parts(body)
        held = str(self._exchange.request("load_done", digest).get("digest"))
        if held != digest:
            raise RigError(
                f"The rig holds schedule {held}, not {digest} as sent.", "Send it again."
            )
        return digest

    def teach(self, record: bytes) -> None:
        """Give the rig what was learned of it, in its own form. RigError when it refuses."""
        self._exchange.request("load_learned", self._in_parts(b2a_base64(record, newline=False)))

    def _in_parts(self, body: bytes) -> str:
        ask, digest = self._exchange.request, schedule.digest(body)
        ask("load_open", len(body), digest)
        for offset in range(0, len(body), PART_BYTES):
            ask("load_part", offset, body[offset : offset + PART_BYTES].decode("ascii"))
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

    def ask_test(
        self, heat_permille: int, fan_permille: int, stir_permille: int, plate_mc: int, most_s: int
    ) -> None:
        """Open the window for a test: what a press allows at most, and for how long."""
        powers = (heat_permille, fan_permille, stir_permille)
        self._exchange.request("ask_test", *powers, plate_mc, most_s)

    def lease(self, heat_permille: int, fan_permille: int, stir_permille: int) -> None:
        """Drive this in `testing`; it must be said again within 5 s."""
        self._exchange.request("lease", heat_permille, fan_permille, stir_permille)

    def ask_update(self) -> None:
        """Open the window for other firmware; a press then restarts the board to its prompt."""
        self._exchange.request("ask_update")

    def ask_status(self) -> Status:
        """Return where the rig is now."""
        return decode.status(self._exchange.request("ask_status"))

    def take(self) -> list[Record]:
        """Return what came since the last call; does not wait, but fetches some of what is
        missing.

        Raises LinkError once the cable is out and all that came before was taken.
        """
        self._arrived.clear()
        taken: list[Record] = []
        try:
            self._take_into(taken)
        except LinkError:
            if not taken:
                raise
        self.on_taken(taken)
        self.beside(taken)
        return taken

    def _take_into(self, taken: list[Record]) -> None:
        while self._inbox:
            message = self._inbox[0]
            if self._following.is_strange(message):
                self.hello(self._host_version)
            taken += self._started_anew()
            self._inbox.popleft()
            taken += self._following.take(message)
        taken += self._started_anew()
        if self._exchange.failure is not None:
            raise self._exchange.failure
        self._following.fetch_some(taken)

    def wait(self, at_most_s: float) -> bool:
        """Wait until something came or the cable is out; tell whether it did.

        A real rig hears this host's clock meanwhile, so that it can doubt its own.
        """
        self._beat()
        if self._inbox or self._exchange.failure is not None or self.behind():
            return True
        return self._clock.wait(self._arrived, at_most_s)

    def _beat(self) -> None:
        there, now_s = self.identity, self._clock.now_s()
        knows_it = there is not None and (there.minor >= BEAT_MINOR and not there.simulated)
        if knows_it and now_s - self._beat_at_s >= BEAT_EVERY_S:
            self._beat_at_s = now_s
            self._exchange.request("beat", int(now_s * 1000) & MAX_INTEGER)

    def pause(self, for_s: float) -> None:
        """Let more arrive, so that one `take` serves many pushes; ends early when unplugged."""
        if self._exchange.failure is None and not self.behind():
            self._clock.wait(self._exchange.failed, for_s)

    def let_pass(self, for_s: float) -> None:
        """Let time pass, whatever comes meanwhile."""
        self._clock.wait(threading.Event(), for_s)

    def now_s(self) -> float:
        """Seconds of the clock this link waits by."""
        return self._clock.now_s()

    def samples(self, from_seq: int) -> list[Sample]:
        """Return the samples that the rig still has from this number on, a few at a time.

        Empty when there is nothing newer; begins later than asked when the rig has lost some.
        """
        answer = self._exchange.request("fetch_samples", from_seq)
        if answer.name == "lost":
            answer = self._exchange.request("fetch_samples", decode.lost_range(answer)[1] + 1)
        return decode.samples(answer) if answer.name == "samples" else []

    @property
    def knows_samples(self) -> bool:
        """True for a rig whose wire knows of a sample probe, whether it has one or not."""
        return self.identity is not None and self.identity.minor >= SAMPLE_MINOR

    def catch_up(self, reading_seq: int, event_seq: int) -> list[Record]:
        """Return what came, and what is missing up to these sequence numbers, both included.

        They are the newest of a hello: a rig that goes on has always something newer.
        """
        self.expect(reading_seq, event_seq)
        taken = self.take()
        while self._following.is_before(reading_seq, event_seq):
            taken += self.take()
        return taken

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
        if message.name == "reading":
            self.clock_watch.take(message.values[0] / 1000, self._clock.now_s())
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

    def _started_anew(self) -> list[Record]:
        """Turn to the boot that the last hello found, from its first reading and event on."""
        now, before = self.identity, self._followed
        if now is None or before is None:
            return []
        if (now.board, now.boot_nonce) == (before.board, before.boot_nonce):
            return []
        self._followed = now
        self.clock_watch.begin_anew()
        self.follow_from(0, 0)
        self.expect(now.newest_reading, now.newest_event)
        return [decode.Boot(now)]
