"""The rig's description in two slots, so that a write cut short leaves the one before.

A slot is `slot|generation|<line of rigfw.config>|crc8hex`. The newest whole slot counts; no whole
slot is no description: the rig stays locked.
"""

from rigfw.config import ConfigRefused, RigConfig
from rigwire.frames import crc_hex

FILES = ("rig_a.txt", "rig_b.txt")
HEAD = "slot|"
MOST_GENERATION = 999999
DIGITS = "0123456789"


def to_slot(generation, line):
    """The text of a slot. The host writes generation n + 1 into the slot that n is not in."""
    body = HEAD + str(generation) + "|" + line
    return body + "|" + crc_hex(body.encode())


def from_slot(text):
    """(generation, line), or None for a slot that is empty or damaged."""
    body, _bar, crc = text.rpartition("|") if type(text) is str else ("", "", "")
    if not body.startswith(HEAD) or crc_hex(body.encode()) != crc:
        return None
    number, _bar, line = body[len(HEAD) :].partition("|")
    # Not isdigit(): to CPython that is also true of figures that int() refuses.
    if not number or number.strip(DIGITS) or len(number) > 6 or to_slot(int(number), line) != text:
        return None
    return int(number), line


def newest(texts):
    """The RigConfig of the newest whole slot. Raises ConfigRefused when there is none, or when
    what it says is refused: an older slot may be of another rig."""
    whole = [one for one in [from_slot(text) for text in texts] if one]
    if not whole:
        raise ConfigRefused("the rig's description is missing or damaged")
    _generation, line = max(whole)
    if len(whole) > 1 and whole[0][0] == whole[1][0] and whole[0][1] != whole[1][1]:
        raise ConfigRefused("two descriptions of the same age differ")
    return RigConfig.from_text(line)
