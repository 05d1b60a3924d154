"""What the host says in a faulty run, and when somebody leans on the button. Never waits."""

from collections import deque

from campaign_cases import FaultCase
from handling_world import PART_CHARACTERS, HostTalk

from rigwire import messages
from rigwire.schedule import digest, to_body

FIRST_MS, EVERY_MS = 3000, 1000
BEATS_S = 90
TEST_S = 3600
CHATTER_MS = ((0, 70_000), (100_000, 101_500))
"""A stuck button that lets go and closes once more by itself, in the start window."""
PRESS_MS = 1500
ASKED_AGAIN = 20
WALK_MS = 25_000


class Talk(HostTalk):
    """The host of a case. `quiet_s` is when it has said all, `presses_ms` who leans on what."""

    def __init__(self, case: FaultCase) -> None:
        self._case = case
        self._number = 0
        self._frames: deque[bytes] = deque()
        self._heard = bytearray()
        self._body = to_body(case.schedule)
        self._from_ms = FIRST_MS
        self._leases = False
        self.last_lease_ms: int | None = None
        self.presses_ms: tuple[tuple[int, int], ...] = ()
        if case.does("chatters"):
            self.presses_ms = CHATTER_MS
            self._from_ms = CHATTER_MS[1][0] - WALK_MS
        if case.does("clock_runs"):
            self._beats()
        self._open()
        if case.does("presses_early"):  # a second request, when the stop button was tried
            for _ in range(ASKED_AGAIN):
                self._put("ask_status", ())
            self._put("ask_start", (digest(self._body),))
        asked_ms = self._from_ms + EVERY_MS * (len(self._frames) - 1)
        self.quiet_s = asked_ms / 1000 + 30.0
        if case.does("presses_early"):
            self.presses_ms = ((asked_ms - 500, asked_ms - 500 + PRESS_MS + 500),)

    def _open(self) -> None:
        """Say hello, load, ask for the start or for a test."""
        self._put("hello", (messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, "campaign"))
        if self._case.does("leases"):
            self._put("ask_test", (1000, 0, 1000, 60_000, TEST_S))
            self._leases = True
            return
        self._load()
        self._put("ask_start", (digest(self._body),))
        if self._case.does("garbled"):  # a line that nobody sent so: its check sum is another's
            line = self._frames.pop()
            other = b"1" if line[-2:-1] == b"0" else b"0"
            self._frames.append(line[:-2] + other + line[-1:])

    def _load(self) -> None:
        text, name = self._body.decode(), digest(self._body)
        sent = text
        if self._case.does("torn"):  # a piece of another upload in its middle
            sent = text.replace(",7200,", ",7300,")
        self._put("load_open", (len(text), name))
        for at in range(0, len(sent), PART_CHARACTERS):
            self._put("load_part", (at, sent[at : at + PART_CHARACTERS]))
        self._put("load_done", (name,))

    def _beats(self) -> None:
        """The host's own clock, a beat a second."""
        self._put("hello", (messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, "campaign"))
        for count in range(1, BEATS_S):
            self._put("beat", (self._from_ms + EVERY_MS * count,))

    def next_frame(self, at_ms: int) -> bytes:
        """The next frame, one a second; b"" when there is none."""
        if at_ms < self._from_ms or at_ms % EVERY_MS:
            return b""
        if not self._frames and self._leases:
            self._put("lease", (400, 0, 1000))
        return self._frames.popleft() if self._frames else b""

    def falls_silent(self, at_ms: int) -> None:
        """The host hangs: its last lease came in the whole second before."""
        self._leases = False
        self.last_lease_ms = at_ms - at_ms % EVERY_MS

    def comes_back(self, at_ms: int) -> None:
        """The host finds the rig again and asks for the start of what it knows."""
        self._frames.clear()
        self._from_ms = at_ms + FIRST_MS
        self._open()
        ready_ms = self._from_ms + EVERY_MS * len(self._frames)
        if self._case.does("leans"):  # a short press that answers something, by habit
            self.presses_ms = ((ready_ms + 5000, ready_ms + 5500),)
