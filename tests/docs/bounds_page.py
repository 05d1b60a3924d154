"""Write the table of host/docs/bounds.md from the constants of the code; `--check` only compares.

python tests/docs/bounds_page.py [--check]
"""

import importlib
import re
import sys
from pathlib import Path

from made_page import keep

PAGE = Path(__file__).parents[2] / "host" / "docs" / "bounds.md"
BLOCK = re.compile(r"<!-- generated: bounds -->\n.*?<!-- end -->", re.S)
BOUNDS = (
    # what, module, constant, unit, what happens to more
    ("a frame of the wire", "rigwire.frames", "MAX_FRAME_BYTES", "bytes", "is console text"),
    ("a text in a frame", "rigwire.frames", "MAX_TEXT_BYTES", "bytes", "the frame is refused"),
    ("a schedule as the rig gets it", "rigwire.schedule", "MAX_BODY_BYTES", "bytes", "refused"),
    ("steps of a schedule", "rigwire.schedule", "MAX_STEPS", "steps", "refused"),
    ("holds and waits of a schedule", "rigwire.schedule", "MAX_TOTAL_S", "s", "refused"),
    ("pushes that wait to be taken", "snapgloss.link.client", "INBOX_MOST", "messages",
     "dropped, then fetched from the rig's journal"),
    ("console text of a rig", "snapgloss.link.client", "CONSOLE_MOST_BYTES", "bytes",
     "the oldest is dropped"),
    ("one piece of console text in the record", "snapgloss.store.store", "MAX_CONSOLE_CHARS",
     "characters", "cut"),
    ("a file that people write: schedule, chocolate, rig, curve, bars",
     "snapgloss.base.textfiles", "MAX_BYTES", "bytes", "refused before it is read"),
    ("points in one name of such a file", "snapgloss.base.textfiles", "DOTS_MOST", "points",
     "refused before it is parsed"),
    ("digits of one number of such a file", "snapgloss.base.textfiles", "DIGITS_MOST", "digits",
     "refused with its line"),
    ("rows of a cooling curve or a table of bars", "snapgloss.quality.temper_file", "MOST_ROWS",
     "rows", "refused"),
    ("a logger's file", "snapgloss.quality.log_file", "MOST_BYTES", "bytes",
     "refused before it is read"),
    ("rows of a logger's file", "snapgloss.quality.log_table", "MOST_ROWS", "rows", "refused"),
    ("time that a logger's file goes over", "snapgloss.quality.log_file", "LONGEST_H", "h",
     "refused"),
    ("the body of a request", "snapgloss.web.gate.limits", "BODY_MOST_BYTES", "bytes",
     "refused while it comes: 413"),
    ("a photo sent to the page", "snapgloss.web.serve", "PHOTO_MOST_BYTES", "bytes",
     "refused while it comes: 413"),
    ("a message on a page's socket", "snapgloss.web.gate.limits", "MESSAGE_MOST_BYTES", "bytes",
     "the socket is closed"),
    ("streams and sockets open at once, of all pages", "snapgloss.web.gate.limits",
     "SOCKETS_MOST", "", "refused"),
    ("depth of JSON in a body", "snapgloss.web.api.strict_json", "DEPTH_MOST", "levels",
     "refused before it is parsed"),
    ("points of the live curve that are kept", "snapgloss.runs.live.feed", "POINTS_MOST", "points",
     "the oldest are dropped"),
    ("the page's log of who did what", "snapgloss.web.gate.audit", "MOST_BYTES", "bytes",
     "a second file begins, the one before it is dropped"),
    ("a photo in the record", "snapgloss.runs.photos", "PHOTO_MOST_BYTES", "bytes", "refused"),
    ("points of a photo that is measured", "snapgloss.quality.gloss_photo", "PIXELS_MOST",
     "points", "refused before it is unpacked"),
    ("a sound", "snapgloss.quality.kept_bar", "SOUND_MOST_BYTES", "bytes", "refused"),
)  # fmt: skip


def value(module: str, constant: str) -> int:
    """The bound as the code has it."""
    return int(getattr(importlib.import_module(module), constant))


def generated(text: str) -> str:
    """The page with its table as the code has it."""
    lines = ["| What | At most | More |", "| --- | --- | --- |"]
    for what, module, constant, unit, more in BOUNDS:
        most = f"{value(module, constant):,} {unit}".strip()
        lines.append(f"| {what} | {most} | {more} |")
    block = "\n".join(["<!-- generated: bounds -->", *lines, "<!-- end -->"])
    return BLOCK.sub(lambda _: block, text)


def main() -> int:
    """Write or, with --check, compare; 1 when they differ."""
    return keep(PAGE, generated)


if __name__ == "__main__":
    sys.exit(main())
