"""The line card: what is printed on it, in true millimetres, and how it is looked at in a bar.

The card stands upright on the bar, and the camera sees it twice: itself, and upside down in the
bar. A bar whose surface leans sideways by m radians in a place moves the picture of a line at
height y by 2 m y, whatever the height of the camera (law of reflection: the ray turns by
2 m sin(e) for a view from the angle e, over a way of y / sin(e)). So upright lines at one height
tell how rough the bar is, and the card itself tells how sharp the photo is.
"""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WIDTH_MM, HEIGHT_MM = 104.0, 54.0
# Four marks, from the lower left one the way round against the clock; a disc in a ring.
MARKS_MM = ((7.0, 6.5), (97.0, 6.5), (97.0, 47.0), (7.0, 47.0))
DISC_MM, GAP_MM, RING_MM = 1.8, 3.2, 5.0  # radii: black up to the first, white, black
RULE_MM = (20.0, 84.0, 49.0, 51.0)  # x and y of a rule on top, which tells up from down


class Field(NamedTuple):
    """Upright lines, half of each period black; x from where to where, in mm."""

    period_mm: float
    from_mm: float
    to_mm: float

    @property
    def black_mm(self) -> tuple[tuple[float, float], ...]:
        """Where each black line begins and ends."""
        half = self.period_mm / 2
        first = self.from_mm + (half / 2 if self is FIELDS[0] else half)
        count = round((self.to_mm - self.from_mm) / self.period_mm)
        begins = [first + n * self.period_mm for n in range(count)]
        return tuple((at, at + half) for at in begins)


# The first is the reference: so wide that little blurs it. Its line stands in the middle, and the
# next field begins with paper, so that no neighbour's ink is blurred into it.
FIELDS = (
    Field(24.0, 4.0, 28.0),
    Field(8.0, 28.0, 52.0),
    Field(4.0, 52.0, 76.0),
    Field(2.0, 76.0, 100.0),
)
LINES_MM = (13.0, 31.0)  # heights between which the lines are printed
BAND_MM = (15.0, 29.0)  # heights between which they are looked at


def drawn(px_per_mm: int) -> "NDArray[np.float64]":
    """The card as a picture, its top first: 1 is paper, 0 is ink."""
    import numpy as np

    card = np.ones((round(HEIGHT_MM * px_per_mm), round(WIDTH_MM * px_per_mm)))
    rows, columns = np.indices(card.shape) + 0.5
    x_mm, y_mm = columns / px_per_mm, HEIGHT_MM - rows / px_per_mm
    boxes = [RULE_MM] + [(*line, *LINES_MM) for field in FIELDS for line in field.black_mm]
    for left, right, low, high in boxes:
        card[(x_mm >= left) & (x_mm < right) & (y_mm >= low) & (y_mm < high)] = 0.0
    for at_x, at_y in MARKS_MM:
        off_mm = np.hypot(x_mm - at_x, y_mm - at_y)
        card[(off_mm < DISC_MM) | ((off_mm > GAP_MM) & (off_mm < RING_MM))] = 0.0
    return card
