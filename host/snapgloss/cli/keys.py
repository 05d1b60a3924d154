"""Presses of Enter, taken now and then without waiting for one."""

import contextlib
import os
import select
import sys


class EnterKey:
    """Counts lines on stdin as they come. A stdin that ends, or is none, gives none."""

    def __init__(self) -> None:
        self._handle: int | None = None
        with contextlib.suppress(OSError, ValueError, AttributeError):
            self._handle = sys.stdin.fileno()

    def presses(self) -> int:
        """How many since the last call. Never waits."""
        if sys.platform == "win32":
            import msvcrt

            count = 0
            while msvcrt.kbhit():
                count += msvcrt.getwch() in "\r\n"
            return count
        if self._handle is None:
            return 0
        try:
            if not select.select([self._handle], [], [], 0)[0]:
                return 0
            content = os.read(self._handle, 4096)
        except (OSError, ValueError):
            content = b""
        if not content:
            self._handle = None
        return content.count(b"\n")
