"""A temperature drawn large enough to read from the bowl."""

ROWS = 3
PIXELS = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ".": (" ", " ", " ", " ", "#"),
    "-": ("   ", "   ", "###", "   ", "   "),
}
HALF = {"##": "█", "# ": "▀", " #": "▄", "  ": " "}


def large(number: str) -> list[str]:
    """Return ROWS lines that draw a number of digits, point and minus, two pixels to a cell."""
    glyphs = [PIXELS[character] for character in number]
    rows = [" ".join(glyph[row] for glyph in glyphs) for row in range(5)]
    rows.append(" " * len(rows[0]))
    return [
        "".join(HALF[upper + lower] for upper, lower in zip(rows[at], rows[at + 1], strict=True))
        for at in range(0, 2 * ROWS, 2)
    ]
