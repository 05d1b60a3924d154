"""What a rig was taught, kept over a reset for the regulator alone: no interlock ever reads it.

Taught are FIGURES numbers in single precision: the parameters of `model`, then one half of their
covariance, row by row. The record `learned` is the CRC of _FORM and of the rig's description in 8
hex digits, the numbers' bytes, the CRC of both. A rig that is described anew begins anew; a record
that is damaged, of another description or form, or out of range is none.

A host may send a record that it fitted to a whole log. It is checked harder than the rig's own,
and may be no surer than WIDER_SIGMA of `model`, which is added to every doubt before a batch.
"""

from array import array
from binascii import a2b_base64

from rigfw.folded import const
from rigfw.model import ALL, ELEMENT, MASS, PLATE, PROBE, ROOM, STATES, zeros
from rigfw.upload import UploadRefused, check_kept
from rigwire.frames import crc_hex

NAME = "learned"
FIGURES = 65
_MOST = const(100.0)
_FAR = const(1.601)  # these four as in `estimator`, and a rounding: its own learning ends there
_FAR_ROOM_C = const(12.0)
_LAG_LEAST = const(-0.75)
_MASS_LEAST = const(-0.301)
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


def is_likely(figures):
    """No parameter further from its description than a rig itself would learn, and no mixture of
    them with a variance under 0."""
    x, p = zeros(ALL), [zeros(ALL) for _ in range(ALL)]
    put(figures, x, p)
    for at in range(STATES, ALL):
        most = _FAR_ROOM_C if at == ROOM else _FAR
        least = (
            _LAG_LEAST if at in (PLATE, PROBE, ELEMENT) else _MASS_LEAST if at == MASS else -most
        )
        line, pivot = p[at], p[at][at]
        if pivot < 0.0 or not least <= x[at] <= most:
            return False
        for row in range(at + 1, ALL):
            part = line[row]
            if part and not pivot:
                return False
            part = part and part / pivot
            for column in range(row, ALL):
                p[row][column] -= part * line[column]
                p[column][row] = p[row][column]
    return True


class Memory:
    """On the board's `keep`; None keeps nothing. `rig_text` is the description's line."""

    def __init__(self, keep, rig_text):
        self._keep = keep
        self._head = crc_hex((_FORM + rig_text).encode()).encode()

    def recalled(self):
        """What `Regulator.learned` gave before, or None."""
        return self._figures(self._keep.read(NAME)) if self._keep else None

    def take(self, text):
        """Keep a host's record, in base64, and give its figures. Only while the heater is off.

        Raises UploadRefused, and then what was kept before is kept still.
        """
        try:
            record = a2b_base64(text)
        except ValueError:
            record = b""
        if record[:8] != self._head:
            raise UploadRefused("other_rig", "it was learned from a rig described otherwise")
        figures = self._figures(record)
        if figures is None or not is_likely(figures):
            raise UploadRefused("learned", "its figures are out of range")
        check_kept(self._keep and self._keep.write(NAME, record))
        return figures

    def _figures(self, record):
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
