"""What waits to be sent: bounded, the oldest dropped first; who puts something in never waits."""

import threading
from collections import deque

from snapgloss.broker.messages import Message

MOST = 3600
"""An hour of one rig, about 1 MB; after that the oldest goes. The record has it all."""


class Outbox:
    """Of kept messages only the newest of each topic waits: a late reader needs no older one."""

    def __init__(self, most: int = MOST) -> None:
        self._waiting: deque[Message] = deque()
        self._kept: dict[str, Message] = {}
        self._most, self._lock = most, threading.Lock()
        self.dropped = 0

    def put(self, message: Message) -> None:
        """Let a message wait; the oldest is dropped and counted where there are too many."""
        with self._lock:
            if message.is_kept:
                self._kept[message.topic] = message
                return
            if len(self._waiting) >= self._most:
                self._waiting.popleft()
                self.dropped += 1
            self._waiting.append(message)

    def take(self) -> Message | None:
        """The next to be sent, kept ones first; None when nothing waits."""
        with self._lock:
            if self._kept:
                return self._kept.pop(next(iter(self._kept)))
            return self._waiting.popleft() if self._waiting else None

    def __len__(self) -> int:
        return len(self._waiting) + len(self._kept)
