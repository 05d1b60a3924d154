"""A display of 128 x 64 points with an SSD1306 chip on I2C, one page of eight rows a pass.

A display that is not there, or fails, is left alone for a while and tried again; nothing else
notices. Commands from memory of the chip's data sheet.
"""

from binascii import crc32

from rigfw.drivers import bigdigits

WIDTH = 128
HEIGHT = 64
PAGES = 8
COLUMNS = 16
ADDRESS = 0x3C
RETRY_MS = 5000
REFRESH_MS = 30000
"""Own choice: a display that lost its power or its place is right again within that."""
ALL_PAGES = 0xFF
LETTER = 8
MOST_ROWS = 4
"""A sentence of four rows takes the place of figure and time, too."""

# Not the command that darkens: a display that is refreshed must not blink.
SETTINGS = (
    b"\x00"  # commands follow
    b"\xd5\x80"  # clock
    b"\xa8\x3f"  # 64 rows
    b"\xd3\x00\x40"  # no offset, first row 0
    b"\x8d\x14"  # its own charge pump
    b"\x20\x00"  # bytes run along a page
    b"\xa1\xc8"  # upright with the pins at the top
    b"\xda\x12"  # row pins
    b"\x81\xcf"  # contrast
    b"\xd9\xf1\xdb\x40"  # charge times, levels
    b"\xa4\xa6\xaf"  # show the memory, not inverted, on
)


def wrapped(words, columns):
    """Lines of at most so many letters, broken at spaces; a longer word is cut."""
    lines = [""]
    for word in words.split():
        longer = lines[-1] + " " + word if lines[-1] else word
        if len(longer) <= columns:
            lines[-1] = longer
        else:
            lines.append(word[:columns])
    return [line for line in lines if line]


def draw(frame, lines):
    """The four lines of rigfw.display on a 128 x 64 frame. Allocates."""
    degrees, what, figure, left = lines
    frame.fill(0)
    number, _, unit = degrees.partition(" ")
    if unit == "C":
        x = bigdigits.draw(frame, number, 0, 0)
        frame.fill_rect(x, 0, 4, 4, 1)  # the degree sign, which the built-in letters lack
        frame.fill_rect(x + 1, 1, 2, 2, 0)
        frame.text(unit, x + 6, 0)
    else:
        frame.text(degrees, 0, LETTER)
    rows = wrapped(what, COLUMNS)[:MOST_ROWS]
    _draw_what(frame, rows)
    if len(rows) < MOST_ROWS:
        _draw_last_row(frame, figure, left)


def _draw_what(frame, rows):
    y, pitch = (32, LETTER) if len(rows) > 2 else (36, 10)
    for row in rows:
        frame.text(row, 0, y)
        y += pitch


def _draw_last_row(frame, figure, left):
    if len(figure) + len(left) >= COLUMNS:
        left = left.replace(" min", "m")
    frame.text(figure, 0, HEIGHT - LETTER)
    frame.text(left, WIDTH - LETTER * len(left), HEIGHT - LETTER)


class Screen:
    """`frame` draws on `buffer`: 1024 bytes, eight rows a byte, the lowest bit on top.

    `show` keeps four lines; `step` once a pass draws them, or sends one page that changed. Longest
    pass 5 ms (estimated: drawing 5; calculated: 137 bytes at 400 kHz 3), or the bus's own time
    limit once in 5 s when the display hangs. `i2c.writeto(address, bytes)` raises OSError.
    """

    def __init__(self, i2c, frame, buffer, clock):
        self._i2c = i2c
        self._frame = frame
        self._buffer = buffer
        self._clock = clock
        self._sent = [0] * PAGES  # the check sum of each page that the display has
        self._page = bytearray(WIDTH + 1)
        self._page[0] = 0x40  # data follow
        self._place = bytearray([0x00, 0x21, 0, WIDTH - 1, 0x22, 0, 0])
        self._unsent = ALL_PAGES
        self._lines = self._drawn = None
        self._tried_ms = None
        self.is_there = False

    def show(self, lines):
        """What to draw as soon as the last picture is out."""
        self._lines = lines

    def step(self, now_ms):
        """One page, or one picture drawn, or nothing."""
        try:
            self._step(now_ms)
        except OSError:
            self.is_there = False

    def _step(self, now_ms):
        if self._is_due(now_ms):
            self._tried_ms = now_ms
            self._unsent = ALL_PAGES
            self._i2c.writeto(ADDRESS, SETTINGS)
            self.is_there = True
        elif self.is_there and not self._send_one():
            self._draw()

    def _is_due(self, now_ms):
        if self._tried_ms is None:
            return True
        wait_ms = REFRESH_MS if self.is_there else RETRY_MS
        return self._clock.diff(now_ms, self._tried_ms) >= wait_ms

    def _draw(self):
        if self._lines and self._lines != self._drawn:
            draw(self._frame, self._lines)
            self._drawn = self._lines

    def _send_one(self):
        """Send the first page that is not what the display has. False when there is none."""
        for page in range(PAGES):
            start = page * WIDTH
            wanted = self._buffer[start : start + WIDTH]
            if self._unsent >> page & 1 or crc32(wanted) != self._sent[page]:
                self._send(page, wanted)
                self._sent[page] = crc32(wanted)
                self._unsent &= ~(1 << page)
                return True
        return False

    def _send(self, page, wanted):
        self._place[5] = self._place[6] = page
        self._page[1:] = wanted
        self._i2c.writeto(ADDRESS, self._place)
        self._i2c.writeto(ADDRESS, self._page)
