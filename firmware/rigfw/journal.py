"""What happened, in two rings of memory taken once: 1024 readings and 128 events.

Sequence numbers start at 0 at boot and never repeat. A full ring overwrites its oldest row; the
reader learns which rows are lost. Writing a row allocates nothing.
"""

from array import array

from rigwire.message_table import READING, SAMPLE
from rigwire.messages import fields

READINGS = 1024
EVENTS = 128
READING_WIDTH = 12
"""The values of a `reading`, then the sample's, which the wire carries apart."""
EVENT_WIDTH = 4
CHUNK = 32
# Rows in one piece of memory: a board's heap has many small gaps and few large ones.
SMALL_BITS = 30
# What a whole number of a 32-bit MicroPython holds without memory of its own.

_OUT_OF_RANGE = ValueError("a value of the journal is out of its range")


class Ring:
    """`rows` (a multiple of 32) of `width` integers; `next_seq` numbers the next row."""

    def __init__(self, rows, width):
        self.rows = rows
        self.width = width
        self.next_seq = 0
        self._chunks = [self._chunk() for _ in range(rows // CHUNK)]

    def _chunk(self):
        return array("i", bytes(4 * CHUNK * self.width))

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


class PackedRing(Ring):
    """A Ring whose values have ranges: (least, most) of each. A row takes their bits, no more.

    A value has as many bits as its range needs, the lowest first, and the row fills up its last
    byte. Raises ValueError for ranges whose bits a small integer could not carry over.
    """

    def __init__(self, rows, ranges):
        self._least = array("i", [least for least, _most in ranges])
        self._bits = bytes([_bits_of(most - least) for least, most in ranges])
        self._row_bytes = (sum(self._bits) + 7) // 8
        used = 0
        for bits in self._bits:
            if used + bits > SMALL_BITS:
                raise ValueError("a range is too wide for its place in the row")
            used = (used + bits) % 8
        super().__init__(rows, len(ranges))

    def _chunk(self):
        return bytearray(CHUNK * self._row_bytes)

    def append(self, values):
        """Keep the next row. Raises ValueError, keeping nothing, for a value out of its range.
        Allocates nothing."""
        for index in range(self.width):
            value = values[index] - self._least[index]
            if value < 0 or value >> self._bits[index]:
                raise _OUT_OF_RANGE
        slot = self.next_seq % self.rows
        self._pack(self._chunks[slot // CHUNK], slot % CHUNK * self._row_bytes, values)
        self.next_seq += 1

    def _pack(self, cells, at, values):
        waiting = used = 0  # bits that do not fill a byte yet, and their count
        for index in range(self.width):
            waiting |= values[index] - self._least[index] << used
            used += self._bits[index]
            while used >= 8:
                cells[at] = waiting & 255
                at += 1
                waiting >>= 8
                used -= 8
        if used:
            cells[at] = waiting

    def row(self, seq):
        """The values of one held row, as a tuple. Allocates."""
        slot = seq % self.rows
        at = slot % CHUNK * self._row_bytes
        packed = self._chunks[slot // CHUNK][at : at + self._row_bytes]
        rest = int.from_bytes(packed, "little")
        values = []
        for index in range(self.width):
            bits = self._bits[index]
            values.append((rest & (1 << bits) - 1) + self._least[index])
            rest >>= bits
        return tuple(values)


def _bits_of(most):
    """How many bits the numbers from 0 to `most` take."""
    bits = 0
    while most >> bits:
        bits += 1
    return bits


class Journal:
    """The two rings and the time stamp of an event."""

    def __init__(self):
        kept = fields(READING) + fields(SAMPLE)[1:]
        self.readings = PackedRing(READINGS, [field[2:] for field in kept])
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
