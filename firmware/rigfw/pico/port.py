"""The board's clock and its USB serial port."""

import select
import sys
import time

LINE_END = 0x0A
MOST_TOLD = 63
"""With its end 64 bytes: what one write takes without waiting."""


class Clock:
    """The board's milliseconds; they wrap at 2^30, so only `diff` and `add` compare them."""

    def now_ms(self):
        """Milliseconds since boot, wrapped."""
        return time.ticks_ms()

    def diff(self, a_ms, b_ms):
        """a - b, right within 2^29 ms."""
        return time.ticks_diff(a_ms, b_ms)

    def add(self, at_ms, more_ms):
        """A later time, wrapped."""
        return time.ticks_add(at_ms, more_ms)


class Port:
    """USB serial without waiting: reads what is there, writes only when asked to by the poll."""

    def __init__(self):
        self._reader = select.poll()
        self._reader.register(sys.stdin, select.POLLIN)
        self._writer = select.poll()
        self._writer.register(sys.stdout, select.POLLOUT)
        self._one = bytearray(1)
        self._is_between_frames = True

    def read(self, buf):
        """Bytes into buf, at most its length; the count. A stream read would wait for all."""
        count = 0
        while count < len(buf) and self._reader.poll(0):
            if not sys.stdin.buffer.readinto(self._one):
                break
            buf[count] = self._one[0]
            count += 1
        return count

    def writable(self):
        """True when a write of 64 bytes does not wait."""
        return bool(self._writer.poll(0))

    def write(self, data):
        """The bytes taken."""
        count = sys.stdout.buffer.write(data)
        if count:
            self._is_between_frames = data[count - 1] == LINE_END
        return count

    def can_tell(self):
        """True when a line of words would not wait, and not tear a frame in two."""
        return self._is_between_frames and self.writable()

    def tell(self, words):
        """A line for a person at a terminal; a host keeps it as console text."""
        self.write((words[:MOST_TOLD] + "\n").encode())
