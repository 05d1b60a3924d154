"""Start-up and the endless loop on a Pico.

The device's own main.py is `from rigfw.pico import main` and `main.run()`. Hold the start button
while the board gets power to come to the MicroPython prompt instead; nothing is driven then.
"""

import gc
import sys
import time

import machine
import micropython

from rigfw import limits
from rigfw.numbers import OFF
from rigfw.pico import boot

SAMPLE_MS = 20
PROBE_UNKNOWN = 20


def run():
    """Boot, then pass after pass until the power goes. Leaves with every output off."""
    from rigfw.pico import pins

    boot.outputs_off()
    if boot.take_mark():
        sys.stdout.write("update: prompt, nothing runs\n")
        return
    if not machine.Pin(pins.START, machine.Pin.IN, machine.Pin.PULL_UP).value():
        sys.stdout.write("start button held: prompt, nothing runs\n")
        return
    micropython.alloc_emergency_exception_buf(100)
    micropython.kbd_intr(-1)
    try:
        board, app = build()
        board.start_watchdog()
        _passes(board, app)
    finally:
        boot.outputs_off()


def build():
    """Board and App, and no more of what built them than they need: some 20 kB less."""
    from rigfw.pico import startup

    made = startup.built()
    for name in startup.ONCE:
        _forget(name)
    return made


def _forget(name):
    """A module that nothing refers to any more is garbage."""
    package, _, last = name.rpartition(".")
    if sys.modules.pop(name, None):
        delattr(sys.modules[package], last)


def _passes(board, app):
    """A pass every LOOP_MS; one that came late is not made up for."""
    next_ms = time.ticks_ms()
    while True:
        app.loop(next_ms)
        board.after_pass(next_ms)
        app.desk.update.after_pass(app)
        _lock_if_unfit(board, app)
        gc.collect()
        next_ms = time.ticks_add(next_ms, limits.LOOP_MS)
        if not _wait(board, next_ms):
            next_ms = time.ticks_ms()


def _lock_if_unfit(board, app):
    """A device that came to the bus in a batch does not end it; the next does not begin."""
    if app.sequencer.state_no == OFF:
        words = board.trouble()
        if words:
            app.lock(words, PROBE_UNKNOWN)


def _wait(board, next_ms):
    """Look at the contacts until then. False when a whole pass was lost."""
    left_ms = time.ticks_diff(next_ms, time.ticks_ms())
    if left_ms < -limits.LOOP_MS:
        return False
    while left_ms > 0:
        time.sleep_ms(min(left_ms, SAMPLE_MS))
        board.sample()
        left_ms = time.ticks_diff(next_ms, time.ticks_ms())
    return True
