"""The composition root on a Pico: the only place where hardware and logic meet.

Board and App are built once; then this module and the others of ONCE are dropped from memory.
"""

import sys
from binascii import crc32, hexlify

from rigfw import codelist, slots
from rigfw.app import App
from rigfw.commissioned import cap_permille
from rigfw.config import ConfigRefused
from rigfw.drivers.filekeep import FileKeep
from rigfw.drivers.probelist import listed
from rigfw.drivers.romsearch import roms_on
from rigfw.pico import fitted
from rigfw.pico.board import PicoBoard, unlisted_words
from rigfw.pico.port import Clock

ONCE = (
    "rigfw.codelist",
    "rigfw.commissioned",
    "rigfw.describe",
    "rigfw.drivers.probelist",
    "rigfw.pico.fitted",
    "rigfw.pico.pins",
    "rigfw.pico.startup",
    "rigfw.slots",
    "rigwire.states",
)
"""Nothing of these is needed once the rig is built."""
CODE_FOLDERS = "/fw_"
CODE_FILE = "code.txt"
PROBES_FILE = "probes.txt"
PROOF_FILE = "proof.txt"
KEEP_FOLDER = "/"
NO_PROBES = (None, None, None, None)
CHIP = "RP2040"
PROBE_UNKNOWN = 20
WRONG_BOARD = 21


def _text_of(path):
    """A file's text, None when there is none: a flash that was made new again has none."""
    try:
        with open(path) as file:
            return file.read().strip()
    except (OSError, ValueError):  # not there, or not text
        return None


def _code_folder():
    """Where the program lies, with a slash: boot.py puts that folder first; "" for the top."""
    first = sys.path[0] if sys.path else ""
    return first + "/" if first.startswith(CODE_FOLDERS) else ""


def _crc_of(path):
    """The check sum of a file as eight hex digits, None where it cannot be read."""
    crc, buffer = 0, bytearray(512)
    try:
        with open(path, "rb") as file:
            while True:
                count = file.readinto(buffer)
                if not count:
                    return "%08x" % (crc & 0xFFFFFFFF)
                crc = crc32(memoryview(buffer)[:count], crc)
    except OSError:
        return None


def _described(roms):
    """(config, probes, words, code): config None, words and a stop's code when the rig cannot be
    trusted.

    `roms` are the devices on the 1-wire bus; one that is not in the list is refused, because it
    may be the probe that should be in the chocolate.
    """
    try:
        refuse_wrong_board()
        folder = _code_folder()
        sums = _text_of(folder + CODE_FILE)
        _refuse_damaged(codelist.why_unfit(sums, lambda name: _crc_of(folder + name)))
        config = slots.newest([_text_of(name) for name in slots.FILES])
        probes = listed(_text_of(PROBES_FILE))
        _refuse_missing(config, probes)
        _refuse_unlisted(roms, probes)
    except ConfigRefused as refusal:
        return None, NO_PROBES, refusal.reason, refusal.code
    return config, probes, "", 0


def refuse_wrong_board():
    """The pins, and what they do at rest, are those of one chip."""
    if CHIP not in getattr(sys.implementation, "_machine", ""):
        raise ConfigRefused("this board has no " + CHIP, WRONG_BOARD)


def _refuse_damaged(words):
    if words:
        raise ConfigRefused(words)


def _refuse_missing(config, probes):
    if config.has_plate and not probes[1]:
        raise ConfigRefused("the described plate probe is not listed")
    if config.has_room and not probes[2]:
        raise ConfigRefused("the described room probe is not listed")


def _refuse_unlisted(roms, probes):
    known = [probe["rom"] for probe in probes if probe]
    for rom in roms:
        if rom not in known:
            raise ConfigRefused(unlisted_words(rom), PROBE_UNKNOWN)


def built():
    """Board and App; every output is off when this begins and when it ends."""
    clock = Clock()
    wire = fitted.one_wire()
    roms = roms_on(wire)
    for rom in roms:  # how a person learns a new probe's number
        sys.stdout.write("on the probes' bus: " + hexlify(rom).decode() + "\n")
    config, probes, lock_words, lock_code = _described(roms)
    pulses_per_turn = config.tacho_pulses if config and config.has_tacho else 0
    board = PicoBoard(
        fitted.Fitting(wire, clock).build(probes),
        fitted.screen(clock),
        fitted.tachometer(clock, pulses_per_turn) if pulses_per_turn else None,
        bool(config and config.has_sense),
    )
    board.keep = FileKeep(KEEP_FOLDER)
    if config:
        proof = _text_of(PROOF_FILE)
        board.cap_permille = cap_permille(proof, config.to_text(), config.heater_w)
    return board, App(board, config, clock, lock_words, sys.print_exception, lock_code)
