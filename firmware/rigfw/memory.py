"""What a rig was taught, kept over a reset for the regulator alone: no interlock ever reads it.

The record `learned` is `1|<crc of the rig's description>|<whole numbers>|crc8hex`: the logarithms
and one half of their covariance, times SCALE. A rig that is described anew begins anew; a record
that is damaged, of another description or out of range is none.
"""

from rigfw import model
from rigwire.frames import crc_hex

NAME = "learned"
SCALE = 10**6
MOST = 100 * SCALE
COUNT = model.COUNT
FIGURES = COUNT + COUNT * (COUNT + 1) // 2


class Memory:
    """On the board's `keep`; None keeps nothing. `rig_text` is the description's line."""

    def __init__(self, keep, rig_text):
        self._keep = keep
        self._head = "1|" + crc_hex(rig_text.encode())

    def recalled(self):
        """What `Regulator.learned` gave before, or None."""
        figures = self._figures()
        if figures is None or len(figures) != FIGURES:
            return None
        values = [figure / SCALE for figure in figures]
        rows, at = [[0.0] * COUNT for _ in range(COUNT)], COUNT
        for row in range(COUNT):
            for column in range(row + 1):
                rows[row][column] = rows[column][row] = values[at]
                at += 1
        if any(rows[at][at] < 0.0 for at in range(COUNT)):
            return None
        return [model.RECORD] + values[:COUNT] + [value for row in rows for value in row]

    def _figures(self):
        if not self._keep:
            return None
        try:
            text = self._keep.read(NAME).decode()
            body, _bar, crc = text.rpartition("|")
            if crc_hex(body.encode()) != crc or not body.startswith(self._head + "|"):
                return None
            figures = [int(one) for one in body[len(self._head) + 1 :].split("|")]
        except (ValueError, UnicodeError):
            return None
        return figures if all(-MOST <= one <= MOST for one in figures) else None

    def keep_of(self, regulator):
        """A batch is over. Only while the heater is off; sums that fail teach nothing."""
        try:
            self.keep(regulator.learned())
        except (ArithmeticError, ValueError):
            return

    def keep(self, learned):
        """Keep what `Regulator.learned` gives; nothing for None."""
        if not (self._keep and learned):
            return
        values = list(learned[1 : 1 + COUNT])
        for row in range(COUNT):
            begin = 1 + COUNT * (row + 1)
            values.extend(learned[begin : begin + row + 1])
        figures = [int(SCALE * value + (0.5 if value >= 0.0 else -0.5)) for value in values]
        line = "|".join([self._head] + [str(one) for one in figures])
        self._keep.write(NAME, (line + "|" + crc_hex(line.encode())).encode())
