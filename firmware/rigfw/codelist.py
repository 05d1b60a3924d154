"""The program's own files with their check sums, so that a damaged one is found at boot.

`code|1|name=crc8hex|...|crc8hex`, written by whoever put the program on the board. A board without
the list is as one with a wrong one: locked.
"""

from rigwire.frames import crc_hex

HEAD = "code|1"
WRITE_AGAIN = ": put the program on the board again"


def to_text(sums):
    """The list of [(name, crc8hex), ...], in that order."""
    body = "|".join([HEAD] + [name + "=" + crc for name, crc in sums])
    return body + "|" + crc_hex(body.encode())


def why_unfit(text, crc_of):
    """Words for what is wrong with the program's files, "" when nothing is.

    `crc_of(name)` reads a file and gives its eight hex digits, None where it cannot.
    """
    body, _bar, crc = text.rpartition("|") if type(text) is str else ("", "", "")
    if not body.startswith(HEAD + "|") or crc_hex(body.encode()) != crc:
        return "the list of the program's files is missing or damaged" + WRITE_AGAIN
    for entry in body.split("|")[2:]:
        name, _equals, expected = entry.partition("=")
        if crc_of(name) != expected:
            return name[-30:] + " is damaged" + WRITE_AGAIN
    return ""
