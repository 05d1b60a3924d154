"""What a rig was taught, kept over a reset for the regulator alone: no interlock ever reads it.

Taught are FIGURES numbers in single precision: the parameters of `model`, then one half of their
covariance, row by row. The record `learned` is the CRC of _FORM and of the rig's description in 8
hex digits, the numbers' bytes, the CRC of both. A rig that is described anew begins anew; a record
that is damaged, of another description or form, or out of range is none.
"""

from array import array

from rigfw.folded import const
from rigfw.model import ALL, STATES
from rigwire.frames import crc_hex

NAME = "learned"
FIGURES = 65
_MOST = const(100.0)
_FORM = "2"  # another one whenever a number comes to mean something else


def taken(x, p):
    """The figures out of an estimator's `x` and `p`."""
    figures = array("f", x[STATES:])
    for row in range(STATES, ALL):
        figures.extend(p[row][STATES : row + 1])
    return figures


def put(figures, x, p):
    """The figures back into `x` and `p`."""
    at = ALL - STATES
    for row in range(STATES, ALL):
        x[row] = figures[row - STATES]
        for column in range(STATES, row + 1):
            p[row][column] = p[column][row] = figures[at]
            at += 1


def is_sound(figures):
    """So many numbers, each in range, and no variance under 0."""
    if figures is None or len(figures) != FIGURES:
        return False
    at = count = ALL - STATES
    for row in range(count):
        at += row
        if figures[at] < 0.0:
            return False
        at += 1
    return all(-_MOST <= one <= _MOST for one in figures)  # true of no NaN


class Memory:
    """On the board's `keep`; None keeps nothing. `rig_text` is the description's line."""

    def __init__(self, keep, rig_text):
        self._keep = keep
        self._head = crc_hex((_FORM + rig_text).encode()).encode()

    def recalled(self):
        """What `Regulator.learned` gave before, or None."""
        record = self._keep.read(NAME) if self._keep else b""
        body, crc = record[:-8], record[-8:]
        if body[:8] != self._head or crc_hex(body).encode() != crc or len(body) % 4:
            return None
        figures = array("f", body[8:])
        return figures if is_sound(figures) else None

    def keep_of(self, regulator):
        """A batch is over. Only while the heater is off; what is out of range is not kept."""
        figures = regulator.learned()
        if self._keep and is_sound(figures):
            body = self._head + bytes(figures)
            self._keep.write(NAME, body + crc_hex(body).encode())
