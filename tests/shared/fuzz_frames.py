"""Garbage for a rig: damaged bytes, and frames whose check sum is good and whose content is not.

    python tests/shared/fuzz_frames.py --frames 1000000 --seed 1

Runs on both interpreters with the same numbers. The firmware's own App takes every line, as a
cable brings it; nobody presses the button, so whatever comes, nothing may heat or turn.
"""

import sys

from fw_fakes import Rig, make_room
from rigwire import frames, messages, views
from rigwire.errors import FrameRefused, MessageRefused
from rigwire.schedule import digest, to_body
from rigwire.states import STATES

A_RIG_LASTS = 500
"""Lines after which a rig is looked at, and replaced by a new one."""

VALUES = (
    "0", "1", "-1", "-0", "00", "1.0", "1e3", "1073741823", "1073741824", "-1073741823",
    "99999999999999999999", "true", "false", "null", "NaN", "[]", "[1]", "[[1]]", "{}", '{"a":1}',
    '""', '"a"', '"off"', '"dark 72"', '"00000000"', '"ffffffff"', '"\\u0041"', '"\\n"', '"\\""',
    '"' + 79 * "x" + '"', '"' + 80 * "x" + '"', '"' + 81 * "x" + '"', "",
)  # fmt: skip
STRANGE = (b"\x03", b"\x04", b"\r\n", b"\x00", b"\xff\xfe", b"[", b"[[[[[[[[", b'["', b">>> ")


class Dice:
    """The same numbers on every interpreter: a 32-bit xorshift (Marsaglia 2003, 13/17/5)."""

    def __init__(self, seed):
        self._state = (seed * 2654435761 + 1) & 0xFFFFFFFF or 1

    def below(self, most):
        """A whole number from 0 to most - 1."""
        value = self._state
        value ^= (value << 13) & 0xFFFFFFFF
        value ^= value >> 17
        value ^= (value << 5) & 0xFFFFFFFF
        self._state = value
        return value % most

    def of(self, choices):
        """One of these."""
        return choices[self.below(len(choices))]


def signed(text):
    """A line with a good check sum, whatever its text says."""
    data = text.encode()
    return data + b" " + frames.crc_hex(data).encode() + b"\n"


def good(dice):
    """A request (or, one in three, a message of the other direction) as the table allows it."""
    names = [row for row in views.TABLE if (row[1] == messages.TO_DEVICE) == (dice.below(3) > 0)]
    row = dice.of(names)
    values = []
    for _field, unit, low, high in row[2]:
        if unit == "text":
            values.append("x" * (low + dice.below(high - low + 1)))
        else:
            values.append(dice.of((low, high, min(high, max(low, dice.below(1000))))))
    try:
        return messages.encode(row[0], 2_000_000 + dice.below(1_000_000), values)
    except (FrameRefused, MessageRefused):  # eighty bytes of text in several fields
        return messages.encode("hello", 2_000_000, (1, 0, "fuzz"))


def damaged(dice):
    """A good frame with some bytes changed, dropped or added; its check sum is as it was."""
    line = bytearray(good(dice))
    for _ in range(1 + dice.below(4)):
        at = dice.below(len(line))
        what = dice.below(4)
        if what == 0:
            line[at] ^= 1 << dice.below(8)
        elif what == 1:
            line[at] = dice.below(256)
        elif what == 2:
            line = line[:at] + line[at + 1 :] or bytearray(b"\n")
        else:
            line = line[:at] + dice.of(STRANGE) + line[at:]
    return bytes(line)


def content(dice):
    """A frame with a good check sum and one to three values that are not the table's."""
    text = good(dice).decode()
    parts = text[1 : text.rindex("]")].split(",")
    for _ in range(1 + dice.below(3)):
        at = dice.below(len(parts))
        what = dice.below(5)
        if what < 3:
            parts[at] = dice.of(VALUES)
        elif what == 3:
            parts.insert(at, dice.of(VALUES))
        elif len(parts) > 1:
            parts.pop(at)
    body = "[" + ",".join(parts) + "]"
    return signed(dice.of((body, " " + body, body + " ", body[:-1], body + "]")) if
                  dice.below(8) == 0 else body)  # fmt: skip


def noise(dice):
    """Bytes of no meaning, up to twice what a frame may have."""
    count = dice.below(520)
    return bytes([dice.below(256) for _ in range(min(count, 40))]) * (1 + count // 40) + b"\n"


def in_pieces(dice):
    """A good frame that another one interrupts."""
    line, other = good(dice), good(dice)
    at = dice.below(len(line))
    return line[:at] + other + line[at:]


KINDS = (content, content, content, damaged, damaged, good, noise, in_pieces)


class Fuzz:
    """`wrong` holds a sentence for each case that was not as it should be; at most ten."""

    def __init__(self, seed):
        self._dice = Dice(seed)
        self.frames = self.checked = self.understood = self.offs = 0
        self.wrong = []
        self._fresh()

    def run(self, many):
        """So many lines."""
        for _ in range(many):
            self._line(self._dice.of(KINDS)(self._dice))
            if self.frames % A_RIG_LASTS == 0:
                self._still_serves()
                self._fresh()
        self._still_serves()
        return self

    def _fresh(self):
        make_room()
        self._rig = Rig()
        self._rig.run(1)
        self._rig.load()

    def _line(self, line):
        self.frames += 1
        self._to_host(line)
        rig = self._rig
        port = rig.board.port
        port.outgoing = b""
        port.incoming += line
        while port.incoming:
            rig.one_pass()
        rig.one_pass()
        board = rig.board
        if rig.faults or board.heat_on or board.fan_permille or board.stir_permille:
            self._note(line, "drives outputs, or fails: %r" % rig.faults)
        if rig.state() not in ("off", "ready"):
            self._note(line, "is in " + rig.state())
        if port.longest > 64:
            self._note(line, "writes %d bytes at once" % port.longest)

    def _to_host(self, line):
        """What the host's own parser does with it: a message that says the same, or refused."""
        try:
            array = frames.decode(line)
            if array is None:
                return
            self.checked += 1
            message = messages.parse(array, messages.TO_HOST)
        except (FrameRefused, MessageRefused):
            return
        self.understood += 1
        again = messages.encode(message.name, message.number, message.values, message.groups)
        if again != line:
            self._note(line, "is understood as another message")

    def _still_serves(self):
        """The rig answers, holds one whole schedule, and off works."""
        rig = self._rig
        rig.board.port.outgoing = b""
        rig.send_line(b"\n")
        rig.heard()
        answer = rig.ask("hello", 1, 0, "fuzz")
        held = rig.app.desk.upload.held
        if held is None or answer.get("digest_held") != digest(bytes(to_body(held))):
            self._note(b"", "holds another schedule than it says")
        if rig.ask("off").name not in ("ok", "status") or rig.state() != "off":
            self._note(b"", "does not turn off")
        self.offs += 1

    def _note(self, line, words):
        if len(self.wrong) < 10:
            state = STATES[self._rig.app.sequencer.state_no]
            self.wrong.append("%d: %r: %s (%s)" % (self.frames, line, words, state))


def main():
    """Print the counts; 1 when anything was wrong."""
    arguments = dict(zip(sys.argv[1::2], sys.argv[2::2]))  # noqa: B905 (MicroPython has no strict)
    seed = int(arguments.get("--seed", "1"))
    found = Fuzz(seed).run(int(arguments.get("--frames", "50000")))
    print('{"frames": %d, "with_a_good_check_sum": %d, "understood_by_the_host": %d, "seed": %d, '
          '"wrong": %d}' % (found.frames, found.checked, found.understood, seed,
                            len(found.wrong)))  # fmt: skip
    for words in found.wrong:
        print(words)
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
