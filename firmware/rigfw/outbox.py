"""Frames on their way to the host: bounded, in order, never waited for.

A host that keeps the port open and does not read must not hold the loop: on the RP2040 each
blocked write of 64 bytes costs 500 ms (measured on an emulated board).
"""

MOST_FRAMES = 24
WRITE_BYTES = 64
WRITES_A_PASS = 4
WRITE_MS = 20


class Outbox:
    """`dropped` counts whole frames given up because the queue was full, oldest first."""

    def __init__(self, port, clock):
        self._port = port
        self._clock = clock
        self._frames = []
        self._sent = 0
        self.dropped = 0

    def is_flowing(self):
        """True while the host keeps up."""
        return len(self._frames) < MOST_FRAMES // 2

    def put(self, frame):
        """Queue one frame. The oldest that is not partly sent makes room."""
        frames = self._frames
        if len(frames) >= MOST_FRAMES:
            frames.pop(1 if self._sent else 0)
            self.dropped += 1
        frames.append(frame)

    def send(self, started_ms):
        """At most 4 writes of 64 bytes and 20 ms since `started_ms`, only what the port takes."""
        for _ in range(WRITES_A_PASS):
            if not self._frames or not self._port.writable():
                return
            if self._clock.diff(self._clock.now_ms(), started_ms) >= WRITE_MS:
                return
            if not self._send_piece():
                return

    def _send_piece(self):
        frame = self._frames[0]
        count = self._port.write(frame[self._sent : self._sent + WRITE_BYTES])
        if not count:
            return False
        self._sent += count
        if self._sent >= len(frame):
            self._frames.pop(0)
            self._sent = 0
        return True
