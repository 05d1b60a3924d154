"""The rig's small display in a terminal: drawn by the firmware's own code, 32 columns by 8 rows.

A column stands for four points and a row for eight, in two halves; a letter of the display takes
two columns.
"""

from typing import Any

from rigfw import display as words
from rigfw.drivers import screen
from snapgloss.virtual import exchange as ex

COLUMNS, ROWS = screen.WIDTH // 4, screen.HEIGHT // 8
# The device's own code carries no types: it also runs on MicroPython.
_WORDS: Any = words
_SCREEN: Any = screen
POINTS = 4  # the side of the square that a half of a character stands for
HALVES = (" ", "▀", "▄", "█")  # neither, upper, lower, both


class TextFrame:
    """What the firmware's `draw` asks of a frame buffer, kept as points and letters."""

    def __init__(self) -> None:
        self.fill(0)

    def fill(self, colour: int) -> None:
        """Every point, and no letters."""
        self._points = [[colour] * screen.WIDTH for _ in range(screen.HEIGHT)]
        self._letters: dict[tuple[int, int], str] = {}

    def fill_rect(self, x: int, y: int, width: int, height: int, colour: int) -> None:
        """A filled rectangle, cut at the edges."""
        for row in self._points[max(0, y) : y + height]:
            left, right = max(0, x), min(screen.WIDTH, x + width)
            row[left:right] = [colour] * max(0, right - left)

    def text(self, said: str, x: int, y: int, _colour: int = 1) -> None:
        """Letters at a point, eight points wide."""
        for at, letter in enumerate(said):
            self._letters[y // 8, x // 4 + 2 * at] = letter

    def lines(self) -> list[str]:
        """ROWS lines of COLUMNS characters."""
        return [
            "".join(self._cell(row, column) for column in range(COLUMNS)) for row in range(ROWS)
        ]

    def _cell(self, row: int, column: int) -> str:
        letter = self._letters.get((row, column))
        if letter:
            return letter
        upper, lower = self._is_half(2 * row, column), self._is_half(2 * row + 1, column)
        return HALVES[upper + 2 * lower]

    def _is_half(self, half: int, column: int) -> bool:
        rows = self._points[POINTS * half : POINTS * half + POINTS]
        lit = sum(sum(row[POINTS * column : POINTS * column + POINTS]) for row in rows)
        return 2 * lit >= POINTS * POINTS


def picture(answer: tuple[int, ...]) -> list[str]:
    """What the display shows after a pass: the lines of a box, from the exchange's answer."""
    shown = _WORDS.Display()
    shown.product_mc, shown.state_no = answer[ex.SHOWN_MC], answer[ex.STATE_NO]
    shown.prompt_no, shown.value = answer[ex.PROMPT_NO], answer[ex.SHOWN_VALUE]
    shown.left_s, shown.stop_code = answer[ex.LEFT_S], answer[ex.STOP_CODE]
    shown.hands_no = answer[ex.HANDS_NO]
    frame = TextFrame()
    _SCREEN.draw(frame, _WORDS.lines(shown))
    rule = "─" * COLUMNS
    return [f"┌{rule}┐", *(f"│{line}│" for line in frame.lines()), f"└{rule}┘"]
