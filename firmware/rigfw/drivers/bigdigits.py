"""A number in large digits of seven bars each, drawn with rectangles: no font needed."""

HEIGHT = 32
WIDTH = 20
BAR = 5
GAP = 4
MINUS_WIDTH = 12

_LOWER = (HEIGHT - BAR) // 2
_SIDE = HEIGHT // 2 + 2

# x, y, width, height of the bars: top, right upper, right lower, bottom, left lower, left
# upper, middle.
_BARS = (
    (0, 0, WIDTH, BAR),
    (WIDTH - BAR, 0, BAR, _SIDE),
    (WIDTH - BAR, HEIGHT - _SIDE, BAR, _SIDE),
    (0, HEIGHT - BAR, WIDTH, BAR),
    (0, HEIGHT - _SIDE, BAR, _SIDE),
    (0, 0, BAR, _SIDE),
    (0, _LOWER, WIDTH, BAR),
)

# Which bars a digit has, one bit each in the order above: the usual table of seven-bar digits.
_DIGITS = (0x3F, 0x06, 0x5B, 0x4F, 0x66, 0x6D, 0x7D, 0x07, 0x7F, 0x6F)


def draw(frame, number, x, y):
    """`number` of digits, "-" and "." at x, y; the x behind it. Draws on a cleared place."""
    for sign in number:
        if sign == ".":
            frame.fill_rect(x, y + HEIGHT - BAR, BAR, BAR, 1)
            x += BAR + GAP
        elif sign == "-":
            frame.fill_rect(x, y + _LOWER, MINUS_WIDTH, BAR, 1)
            x += MINUS_WIDTH + GAP
        else:
            _digit(frame, int(sign), x, y)
            x += WIDTH + GAP
    return x


def _digit(frame, digit, x, y):
    for at, bar in enumerate(_BARS):
        if _DIGITS[digit] >> at & 1:
            frame.fill_rect(x + bar[0], y + bar[1], bar[2], bar[3], 1)
