"""Frames out of a stream that also carries console text.

Every stretch of bytes has one of three outcomes: complete (a frame), incomplete (kept until its
LF arrives) or refused (handed on as text: a traceback, a prompt, an echo, a damaged frame).
"""

from rigwire.errors import FrameRefused
from rigwire.frames import MAX_FRAME_BYTES, decode

TYPE_CHECKING = False  # MicroPython has no `typing`; checkers read this name as true
if TYPE_CHECKING:
    from collections.abc import Callable

    OnFrame = Callable[[list, bytes], object]
    OnText = Callable[[bytes], object]

_QUOTE = 0x22


class FrameReader:
    """Finds the next good frame after any bytes; holds at most MAX_FRAME_BYTES."""

    def __init__(self) -> None:
        self._kept = b""

    @property
    def pending(self) -> bytes:
        """The incomplete line, for a test or a time limit of the caller."""
        return self._kept

    def feed(self, data: bytes, on_frame: "OnFrame", on_text: "OnText") -> None:
        """Each frame to `on_frame(array, line)`, other bytes to `on_text(data)`, in order."""
        data = self._kept + bytes(data)
        start = 0
        while True:
            end = data.find(b"\n", start) + 1
            if not end:
                break
            self._line(data[start:end], on_frame, on_text)
            start = end
        self._keep(data[start:], on_text)

    def _keep(self, rest: bytes, on_text: "OnText") -> None:
        """Hold what may still become a frame. An over-long line is text, except its tail."""
        surplus = len(rest) - (MAX_FRAME_BYTES - 1)
        if surplus > 0:
            on_text(rest[:surplus])
            rest = rest[surplus:]
        self._kept = rest

    def _line(self, line: bytes, on_frame: "OnFrame", on_text: "OnText") -> None:
        """One line. A frame may follow text that had no LF, such as a prompt."""
        at = _next_start(line, max(0, len(line) - MAX_FRAME_BYTES))
        while at >= 0:
            try:
                array = decode(line[at:])
            except FrameRefused:
                at = _next_start(line, at + 1)
                continue
            if at:
                on_text(line[:at])
            on_frame(array, line[at:])
            return
        on_text(line)


def _next_start(line: bytes, at: int) -> int:
    """Index of the next `["` at or after `at`, or -1."""
    while True:
        at = line.find(b"[", at)
        if at < 0 or (at + 1 < len(line) and line[at + 1] == _QUOTE):
            return at
        at += 1
