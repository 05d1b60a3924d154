"""One frame: a compact JSON array, a space, its CRC-32 as eight hex digits, LF.

The form is canonical. A line that decodes to the same values but was written in another way is
refused, so two interpreters with JSON readers of different tolerance accept the same bytes.
"""

import json
from binascii import crc32

from rigwire.errors import FrameRefused

MAX_FRAME_BYTES = 256
"""With LF. Two such frames fit a small board's serial buffer; a longer line is never a frame."""

MAX_TEXT_BYTES = 80
MAX_INTEGER = (1 << 30) - 1
"""The small integers of a 32-bit MicroPython, which cost no memory there."""

_CRC_AND_SPACE = 9


def crc_hex(data: bytes) -> str:
    """CRC-32 (the zlib one) of data as eight lowercase hex digits."""
    return "%08x" % (crc32(data) & 0xFFFFFFFF)


def is_plain_text(text: str) -> bool:
    """True for at most 80 printable ASCII characters without quote and backslash."""
    return not text or (
        len(text) <= MAX_TEXT_BYTES
        and min(text) >= " "
        and max(text) <= "~"
        and '"' not in text
        and "\\" not in text
    )


def _body(array: list) -> bytes:
    """The one JSON text of a flat list. Raises FrameRefused for what is not allowed in it."""
    least, most, whole = -MAX_INTEGER, MAX_INTEGER, int  # looked up once: quicker on a board
    parts = []
    for value in array:
        # By type, not isinstance: True is an int to that.
        if type(value) is whole and least <= value <= most:
            parts.append(str(value))
        elif type(value) is str and is_plain_text(value):
            parts.append('"' + value + '"')
        else:
            raise FrameRefused("a value is neither a small integer nor plain text")
    return ("[" + ",".join(parts) + "]").encode()


def encode(array: list) -> bytes:
    """The one frame for a flat list of small integers and plain text, LF included.

    Raises FrameRefused for any other value and for a frame over MAX_FRAME_BYTES.
    """
    body = _body(array)
    if len(body) > MAX_FRAME_BYTES - 1 - _CRC_AND_SPACE:
        raise FrameRefused("the frame is too long")
    return body + (" " + crc_hex(body) + "\n").encode()


def _checked_body(line: bytes) -> bytes:
    """The JSON text of a line whose length, ending and check sum are right."""
    if len(line) > MAX_FRAME_BYTES or line[-1:] != b"\n":
        raise FrameRefused("not one line of at most 256 bytes")
    body = line[: -1 - _CRC_AND_SPACE]
    if line[-1 - _CRC_AND_SPACE : -1] != (" " + crc_hex(body)).encode():
        raise FrameRefused("the check sum does not match")
    return body


def decode(line: bytes) -> list:
    """The array of one line with its LF. Raises FrameRefused; never anything else."""
    body = _checked_body(bytes(line))
    try:
        array = json.loads(body.decode())
    except (ValueError, UnicodeError):  # 256 bytes cannot nest deep enough to exhaust a stack
        raise FrameRefused("not a JSON array")
    # A reader that takes `[1,]` or `[01]` cannot let a second form through: we write it again.
    if type(array) is not list or _body(array) != body:
        raise FrameRefused("not in the canonical form")
    return array
