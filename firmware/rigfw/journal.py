"""What happened, in two rings of memory taken once: 1024 readings and 128 events.

Sequence numbers start at 0 at boot and never repeat. A full ring overwrites its oldest row; the
reader learns which rows are lost. Writing a row allocates nothing.
"""

from array import array

READINGS = 1024
EVENTS = 128
READING_WIDTH = 12
"""The values of a `reading`, then the sample's, which the wire carries apart."""
EVENT_WIDTH = 4
CHUNK = 32
"""Rows in one piece of memory: a board's heap has many small gaps and few large ones."""


class Ring:
    """`rows` (a multiple of CHUNK) of `width` integers; `next_seq` numbers the next row."""

    def __init__(self, rows, width):
        self.rows = rows
        self.width = width
        self.next_seq = 0
        self._chunks = [array("i", bytes(4 * CHUNK * width)) for _ in range(rows // CHUNK)]

    def oldest(self):
        """Sequence number of the oldest row held, -1 when none."""
        if not self.next_seq:
            return -1
        return max(0, self.next_seq - self.rows)

    def newest(self):
        """Sequence number of the newest row held, -1 when none."""
        return self.next_seq - 1

    def append(self, values):
        """Keep `width` integers as the next row. Allocates nothing."""
        slot = self.next_seq % self.rows
        cells = self._chunks[slot // CHUNK]
        at = slot % CHUNK * self.width
        for value in values:
            cells[at] = value
            at += 1
        self.next_seq += 1

    def row(self, seq):
        """The values of one held row, as a tuple. Allocates."""
        slot = seq % self.rows
        at = slot % CHUNK * self.width
        return tuple(self._chunks[slot // CHUNK][at : at + self.width])


class Journal:
    """The two rings and the time stamp of an event."""

    def __init__(self):
        self.readings = Ring(READINGS, READING_WIDTH)
        self.events = Ring(EVENTS, EVENT_WIDTH)
        self.now_ms = 0
        self._event = array("i", bytes(4 * EVENT_WIDTH))

    def note(self, kind_no, a=0, b=0):
        """Keep an event of this pass. Allocates nothing."""
        event = self._event
        event[0] = self.now_ms
        event[1] = kind_no
        event[2] = a
        event[3] = b
        self.events.append(event)
