"""The composition root of the virtual rig: runs on the firmware's interpreter, beside `rigfw`.

Run as `device_main.py JSON`, with the keys fd_in, fd_out, fd_tap (-1 = none), config, board_id,
boot_nonce, reset_cause, keep and report. Everything the firmware is given (clock, board, port) is
made of the exchange; nothing here sleeps or knows the wall clock.
"""

import gc
import json
import sys
from array import array

import exchange as ex

from rigfw import describe
from rigfw.app import App
from rigfw.config import ConfigRefused, RigConfig
from rigfw.drivers.filekeep import FileKeep

PLENTY_BYTES = 1000000
COLLECT_BYTES = 32000
_HALF = ex.TICKS_PERIOD >> 1
_MASK = ex.TICKS_PERIOD - 1


class Clock:
    """The device's milliseconds, moved by the records that arrive."""

    def __init__(self, record):
        self._record = record

    def now_ms(self):
        return self._record[ex.NOW_MS]

    def diff(self, later_ms, earlier_ms):
        """later - earlier in ms, right across the wrap."""
        return ((later_ms - earlier_ms + _HALF) & _MASK) - _HALF

    def add(self, at_ms, span_ms):
        return (at_ms + span_ms) & _MASK


class Port:
    """The serial port: what came beside this record, and room for what goes back."""

    def __init__(self, record):
        self._record = record
        self._inbox = bytearray(ex.MAX_WIRE_BYTES)
        self._in_start = 0
        self._in_end = 0
        self.outbox = bytearray(ex.MAX_WIRE_BYTES)
        self.out_bytes = 0

    def receive(self, stream, count):
        """Read `count` bytes behind what is still unread, then stand ready for this loop."""
        self.out_bytes = 0
        if count:
            unread = self._in_end - self._in_start
            self._inbox[:unread] = self._inbox[self._in_start : self._in_end]
            self._in_start = 0
            self._in_end = unread + count
            fill(stream, memoryview(self._inbox)[unread : self._in_end])

    def unread(self):
        return self._in_end - self._in_start

    def read(self, buf):
        count = min(len(buf), self._in_end - self._in_start)
        if count:
            end = self._in_start + count
            buf[:count] = self._inbox[self._in_start : end]
            self._in_start = end
        return count

    def writable(self):
        return self.out_bytes + ex.WRITE_BYTES <= self._record[ex.ROOM_BYTES]

    def write(self, data):
        count = min(len(data), ex.WRITE_BYTES, self._record[ex.ROOM_BYTES] - self.out_bytes)
        if count <= 0:
            return 0
        end = self.out_bytes + count
        self.outbox[self.out_bytes : end] = data if count == len(data) else data[:count]
        self.out_bytes = end
        return count


class Board:
    """The hardware the firmware sees. Outputs stay as written until written again."""

    simulated = 1

    def __init__(self, record, answer, setup):
        self._record = record
        self._answer = answer
        self.port = Port(record)
        self.board_id = setup["board_id"]
        self.boot_nonce = setup["boot_nonce"]
        self.boot_cause = setup["reset_cause"]
        self.keep = FileKeep(setup["keep"]) if setup["keep"] else None

    def read_probes(self, readings, now_ms):  # noqa: ARG002 - every board's are called so
        record = self._record
        readings.product_mc = record[ex.PRODUCT_MC]
        readings.product_at_ms = record[ex.PRODUCT_AT_MS]
        readings.plate_mc = record[ex.PLATE_MC]
        readings.plate_at_ms = record[ex.PLATE_AT_MS]
        readings.room_mc = record[ex.ROOM_MC]
        readings.room_at_ms = record[ex.ROOM_AT_MS]
        readings.sample_mc = record[ex.SAMPLE_MC]

    def inputs(self, inputs):
        bits = self._record[ex.INPUTS]
        inputs.start_down = 1 if bits & ex.START_DOWN else 0
        inputs.pedal_down = 1 if bits & ex.PEDAL_DOWN else 0
        inputs.stop_open = 1 if bits & ex.STOP_OPEN else 0
        inputs.bowl_present = 1 if bits & ex.BOWL_PRESENT else 0
        inputs.stir_turning = 1 if bits & ex.STIR_TURNING else 0
        inputs.heater_live = 1 if bits & ex.HEATER_LIVE else 0

    def write(self, outputs):
        answer = self._answer
        bits = answer[ex.OUTPUTS] & ex.KICKED
        if outputs.heat_on:
            bits |= ex.HEAT_ON
        if outputs.enable_edge:
            bits |= ex.ENABLE_EDGE
        answer[ex.OUTPUTS] = bits
        answer[ex.FAN_PERMILLE] = outputs.fan_permille
        answer[ex.STIR_PERMILLE] = outputs.stir_permille
        answer[ex.BUZZER] = int(outputs.buzzer)
        answer[ex.LAMP] = int(outputs.lamp)

    def all_off(self):
        answer = self._answer
        answer[ex.OUTPUTS] &= ex.KICKED
        answer[ex.FAN_PERMILLE] = 0
        answer[ex.STIR_PERMILLE] = 0

    def free_bytes(self):
        if not hasattr(gc, "mem_free"):  # CPython
            return PLENTY_BYTES
        if gc.mem_free() < COLLECT_BYTES:  # the board collects after every pass
            gc.collect()
        return gc.mem_free()

    def kick(self):
        self._answer[ex.OUTPUTS] |= ex.KICKED

    def show(self, display):
        answer = self._answer
        answer[ex.SHOWN_MC] = display.product_mc
        answer[ex.STATE_NO] = display.state_no
        answer[ex.PROMPT_NO] = display.prompt_no
        answer[ex.SHOWN_VALUE] = display.value
        answer[ex.LEFT_S] = display.left_s
        answer[ex.STOP_CODE] = display.stop_code
        answer[ex.HANDS_NO] = display.hands_no


def fill(stream, view):
    """Read until `view`, a memoryview of bytes, is full."""
    done = 0
    while done < len(view):
        count = stream.readinto(view[done:])
        if not count:
            raise OSError("the plant closed the exchange inside a record")
        done += count


def modules_with_hashes():
    """{name: sha256} of the file of every module this interpreter imported from this folder."""
    import hashlib
    from binascii import hexlify

    found = {}
    for name in list(sys.modules):
        path = getattr(sys.modules[name], "__file__", None)
        if name != "__main__" and path and name.split(".")[0] in ("exchange", "rigfw", "rigwire"):
            found[name] = hexlify(hash_of_file(path, hashlib.sha256())).decode()
    return found


def hash_of_file(path, found):
    """In pieces: once a rig runs, its memory has no room for a whole module in one."""
    piece = bytearray(512)
    view = memoryview(piece)
    with open(path, "rb") as file:
        while count := file.readinto(piece):
            found.update(view[:count])
    return found.digest()


def report_bytes(with_modules):
    report = {
        "implementation": sys.implementation.name,
        "version": ".".join([str(part) for part in sys.implementation.version[:3]]),
    }
    if with_modules:
        report["modules"] = modules_with_hashes()
    text = json.dumps(report).encode()
    return bytes(array("i", [len(text)])) + text


def print_fault(fault):
    """The traceback, as console text: the standard streams are the console here."""
    if hasattr(sys, "print_exception"):  # MicroPython
        sys.print_exception(fault)
    else:
        import traceback

        traceback.print_exception(fault)


def new_app(board, config_text, clock):
    """The firmware; locked, with the reason as its words, when the description is refused."""
    try:
        config = RigConfig(**describe.fields_of(config_text))
        return App(board, config, clock, on_fault=print_fault)
    except ConfigRefused as refusal:
        return App(board, None, clock, refusal.reason, print_fault)


class Tap:
    """Writes every row of the journal to a file as it is made: what a host should have, by a way
    that shares nothing with the wire. Lines: `boot NONCE`, `readings SEQ V ...` (the sample last),
    `events SEQ V ...`.
    """

    def __init__(self, stream, boot_nonce, journal):
        self._stream = stream
        self._rings = (("readings", journal.readings), ("events", journal.events))
        self._next = [0, 0]
        self._write(("boot", boot_nonce))

    def _write(self, words):
        self._stream.write((" ".join([str(word) for word in words]) + "\n").encode())

    def look(self):
        for at, (name, ring) in enumerate(self._rings):
            for seq in range(self._next[at], ring.next_seq):
                words = [name, seq]
                words.extend(ring.row(seq))
                self._write(words)
            self._next[at] = ring.next_seq


def serve(app, board, record, answer, stream_in, stream_out, tap):
    """One loop of the app for each record, until the other end closes."""
    port = board.port
    outbox = memoryview(port.outbox)
    while stream_in.readinto(record):  # a record is written in one piece, so it arrives in one
        port.receive(stream_in, record[ex.WIRE_IN_BYTES])
        answer[ex.OUTPUTS] &= ~ex.KICKED
        app.loop(record[ex.NOW_MS])
        if tap:
            tap.look()
        answer[ex.AT_MS] = record[ex.NOW_MS]
        answer[ex.WAITING_BYTES] = port.unread()
        answer[ex.WIRE_OUT_BYTES] = port.out_bytes
        stream_out.write(answer)
        if port.out_bytes:
            stream_out.write(outbox[: port.out_bytes])


def main():
    setup = json.loads(sys.argv[1])
    gc.collect()  # what compiling left behind would lie between what stays
    report = report_bytes(setup["report"])  # while the heap still has large holes
    gc.collect()
    record = array("i", [0] * len(ex.TO_DEVICE))
    answer = array("i", [0] * len(ex.TO_PLANT))
    board = Board(record, answer, setup)
    app = new_app(board, setup["config"], Clock(record))
    gc.collect()
    stream_in = open(setup["fd_in"], "rb", buffering=0)
    stream_out = open(setup["fd_out"], "wb", buffering=0)
    stream_out.write(report)
    tap = None
    if setup["fd_tap"] >= 0:
        tap_file = open(setup["fd_tap"], "ab", buffering=0)
        tap = Tap(tap_file, setup["boot_nonce"], app.journal)
    serve(app, board, record, answer, stream_in, stream_out, tap)


if __name__ == "__main__":
    main()
