"""The colours of the picture: on paper, and what each becomes on a dark screen.

Every colour of the picture is its own value, so that the page can exchange it by name.
"""

from typing import NamedTuple


class Colour(NamedTuple):
    """A colour by the name of its CSS variable."""

    name: str
    light: str
    dark: str


INK = Colour("ink", "#2b211c", "#f0e7df")
QUIET = Colour("quiet", "#75685f", "#b3a59a")
RULE = Colour("rule", "#ddd3ca", "#4a403a")
CHOCOLATE = Colour("chocolate", "#6b2f1a", "#f0a678")
PLATE = Colour("plate", "#b58a2a", "#cfae5c")
TARGET = Colour("target", "#8d7f8f", "#a79aab")
WINDOW = Colour("window", "#cfe6d6", "#24483a")
WINDOW_INK = Colour("window-ink", "#27694c", "#8fd3b0")
OVER = Colour("over", "#d0473a", "#ff8d7d")
UNDER = Colour("under", "#2f6fb2", "#86bdf5")
HEAT = Colour("heat", "#e08a3c", "#e5954c")
FAN = Colour("fan", "#5b9aa8", "#6fb3c2")
LOST = Colour("lost", "#c9c2bd", "#5d544e")
PAPER = Colour("paper", "#fffdfa", "#1d1815")
STEP_A = Colour("step-a", "#f0e6dc", "#332a25")
STEP_B = Colour("step-b", "#e6d8ca", "#3f352e")

COLOURS = (
    INK, QUIET, RULE, CHOCOLATE, PLATE, TARGET, WINDOW, WINDOW_INK,
    OVER, UNDER, HEAT, FAN, LOST, PAPER, STEP_A, STEP_B,
)  # fmt: skip
