"""MicroPython's frame buffer where it is built in, and a stand-in in plain Python where not.

The stand-in has what the display uses. Its letters are boxes: the built-in font is not ours.
"""


class StandIn:
    """One bit a point, eight rows a byte, the lowest bit on top (MONO_VLSB)."""

    def __init__(self, buffer, width, height, _format=0):
        self._buffer = buffer
        self._width = width
        self._height = height

    def pixel(self, x, y, colour=None):
        """Read or set one point."""
        if not (0 <= x < self._width and 0 <= y < self._height):
            return None
        at, bit = (y >> 3) * self._width + x, 1 << (y & 7)
        if colour is None:
            return 1 if self._buffer[at] & bit else 0
        self._buffer[at] = self._buffer[at] | bit if colour else self._buffer[at] & ~bit
        return None

    def fill(self, colour):
        """Every point."""
        self.fill_rect(0, 0, self._width, self._height, colour)

    def fill_rect(self, x, y, width, height, colour):
        """A filled rectangle, cut at the edges."""
        for row in range(y, y + height):
            for column in range(x, x + width):
                self.pixel(column, row, colour)

    def text(self, words, x, y, colour=1):
        """A box of 7 x 7 for each letter."""
        for at, letter in enumerate(words):
            if letter != " ":
                self.fill_rect(x + 8 * at, y, 7, 7, colour)


try:
    from framebuf import MONO_VLSB, FrameBuffer
except ImportError:
    MONO_VLSB = 0
    FrameBuffer = StandIn


class Frame:
    """A frame buffer that also remembers its words, as (words, x, y), since it was cleared."""

    def __init__(self):
        self.buffer = bytearray(1024)
        self._frame = FrameBuffer(self.buffer, 128, 64, MONO_VLSB)
        self.pixel = self._frame.pixel
        self.fill_rect = self._frame.fill_rect
        self.words = []

    def fill(self, colour):
        """Clear, words too."""
        self.words = []
        self._frame.fill(colour)

    def text(self, words, x, y):
        """Letters of 8 x 8."""
        assert x >= 0 and x + 8 * len(words) <= 128 and 0 <= y <= 56, (words, x, y)
        if words:
            self.words.append((words, x, y))
        self._frame.text(words, x, y)
