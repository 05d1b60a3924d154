"""The composition root on a Pico: the only place where hardware and logic meet.

The device's own main.py is `from rigfw.pico import main` and `main.run()`. Hold the start button
while the board gets power to come to the MicroPython prompt instead; nothing is driven then.
"""

import gc
import sys
import time
from binascii import unhexlify

import machine
import micropython
import onewire

from rigfw import limits
from rigfw.app import App
from rigfw.config import ConfigRefused, RigConfig
from rigfw.drivers import ds18b20
from rigfw.drivers.filekeep import FileKeep
from rigfw.pico import boot, pins
from rigfw.pico.board import Clock, PicoBoard
from rigwire.frames import crc_hex

CONFIG_FILE = "rig.txt"
PROBES_FILE = "probes.txt"
KEEP_FOLDER = "/"


def _text_of(path):
    """A file's text, None when there is none: a flash that was made new again has none."""
    try:
        with open(path) as file:
            return file.read().strip()
    except OSError:
        return None


def probes_of(text):
    """The probes of `probes|1|product|plate|room|crc8hex`, each 16 hex digits or `-`.

    Raises ConfigRefused: a probe in an unknown place must not steer heat.
    """
    parts = (text or "").split("|")
    if len(parts) != 6 or parts[:2] != ["probes", "1"]:
        raise ConfigRefused("the list of probes is missing")
    if crc_hex("|".join(parts[:-1]).encode()) != parts[-1]:
        raise ConfigRefused("the list of probes is damaged")
    try:
        return [None if rom == "-" else ds18b20.Probe(unhexlify(rom)) for rom in parts[2:5]]
    except ValueError:
        raise ConfigRefused("the list of probes is damaged")


def _described():
    """(config, roles, words): config None and words when the rig cannot be trusted."""
    try:
        return RigConfig.from_text(_text_of(CONFIG_FILE)), probes_of(_text_of(PROBES_FILE)), ""
    except ConfigRefused as refusal:
        return None, [None, None, None], refusal.reason


def _built():
    """Board and App; every output is off when this begins and when it ends."""
    config, roles, lock_words = _described()
    clock = Clock()
    wire = onewire.OneWire(machine.Pin(pins.PROBES))
    fitted = [probe for probe in roles if probe]
    board = PicoBoard(ds18b20.Bus(wire, fitted, clock), roles)
    board.keep = FileKeep(KEEP_FOLDER)
    return board, App(board, config, clock, lock_words, sys.print_exception)


def run():
    """Boot, then pass after pass until the power goes. Leaves with every output off."""
    boot.outputs_off()
    if not machine.Pin(pins.START, machine.Pin.IN, machine.Pin.PULL_UP).value():
        sys.stdout.write("start button held: prompt, nothing runs\n")
        return
    micropython.alloc_emergency_exception_buf(100)
    micropython.kbd_intr(-1)
    try:
        board, app = _built()
        board.start_watchdog()
        _passes(app)
    finally:
        boot.outputs_off()


def _passes(app):
    """A pass every LOOP_MS; one that came late is not made up for."""
    next_ms = time.ticks_ms()
    while True:
        app.loop(next_ms)
        gc.collect()
        next_ms = time.ticks_add(next_ms, limits.LOOP_MS)
        left_ms = time.ticks_diff(next_ms, time.ticks_ms())
        if left_ms > 0:
            time.sleep_ms(left_ms)
        elif left_ms < -limits.LOOP_MS:
            next_ms = time.ticks_ms()
