"""A Raspberry Pi Pico as the board of an App: pins, probes, serial port, watchdog, clock."""

import os
import select
import sys
import time
from binascii import hexlify

import machine
from machine import PWM, Pin

from rigfw import display as words
from rigfw import limits
from rigfw.pico import pins

PWM_HZ = 25000
"""Above hearing, and what four-wire fans expect (common practice)."""

FULL_U16 = 65535
PERMILLE = 1000


class Clock:
    """The board's milliseconds; they wrap at 2^30, so only `diff` and `add` compare them."""

    def now_ms(self):
        """Milliseconds since boot, wrapped."""
        return time.ticks_ms()

    def diff(self, a_ms, b_ms):
        """a - b, right within 2^29 ms."""
        return time.ticks_diff(a_ms, b_ms)

    def add(self, at_ms, more_ms):
        """A later time, wrapped."""
        return time.ticks_add(at_ms, more_ms)


class Port:
    """USB serial without waiting: reads what is there, writes only when asked to by the poll."""

    def __init__(self):
        self._reader = select.poll()
        self._reader.register(sys.stdin, select.POLLIN)
        self._writer = select.poll()
        self._writer.register(sys.stdout, select.POLLOUT)
        self._one = bytearray(1)

    def read(self, buf):
        """Bytes into buf, at most its length; the count. A stream read would wait for all."""
        count = 0
        while count < len(buf) and self._reader.poll(0):
            if not sys.stdin.buffer.readinto(self._one):
                break
            buf[count] = self._one[0]
            count += 1
        return count

    def writable(self):
        """True when a write of 64 bytes does not wait."""
        return bool(self._writer.poll(0))

    def write(self, data):
        """The bytes taken."""
        return sys.stdout.buffer.write(data)


class PicoBoard:
    """Outputs are off before anything else is looked at. `screen`, if any, shows four lines."""

    simulated = 0

    def __init__(self, bus=None, roles=(), screen=None):
        self._heater = Pin(pins.HEATER, Pin.OUT, value=0)
        self._enable = Pin(pins.ENABLE, Pin.OUT, value=0)
        self._buzzer = Pin(pins.BUZZER, Pin.OUT, value=0)
        self._lamp = Pin(pins.LAMP, Pin.OUT, value=0)
        self._fan = PWM(Pin(pins.FAN), freq=PWM_HZ, duty_u16=0)
        self._stirrer = PWM(Pin(pins.STIRRER), freq=PWM_HZ, duty_u16=0)
        self._start = Pin(pins.START, Pin.IN, Pin.PULL_UP)
        self._pedal = Pin(pins.PEDAL, Pin.IN, Pin.PULL_UP)
        self._bowl = Pin(pins.BOWL, Pin.IN, Pin.PULL_UP)
        self._stop_loop = Pin(pins.STOP_LOOP, Pin.IN, Pin.PULL_DOWN)
        self._bus = bus
        self._roles = roles
        self._screen = screen
        self._watchdog = None
        self.port = Port()
        self.board_id = "pico-" + hexlify(machine.unique_id()).decode()
        self.boot_nonce = int.from_bytes(os.urandom(4), "little") & 0x3FFFFFFF
        self.boot_cause = machine.reset_cause()

    def start_watchdog(self):
        """From here only passes that come through keep the board alive. It cannot be stopped."""
        self._watchdog = machine.WDT(timeout=limits.WATCHDOG_MS)

    def read_probes(self, readings, now_ms):
        """New values in the pass that has them; `roles` are the probes in order of use."""
        if self._bus is None or not self._bus.step(now_ms):
            return
        product, plate, room = self._roles
        if product:
            readings.product_mc, readings.product_at_ms = product.value_mc, product.at_ms
        if plate:
            readings.plate_mc, readings.plate_at_ms = plate.value_mc, plate.at_ms
        if room:
            readings.room_mc, readings.room_at_ms = room.value_mc, room.at_ms

    def inputs(self, inputs):
        """Contacts. The stop loop is high while closed, so a broken wire reads as pressed."""
        inputs.start_down = 1 - self._start.value()
        inputs.pedal_down = 1 - self._pedal.value()
        inputs.bowl_present = 1 - self._bowl.value()
        inputs.stop_open = 1 - self._stop_loop.value()

    def write(self, outputs):
        """Drive every output as asked."""
        self._heater.value(outputs.heat_on)
        self._enable.value(outputs.enable_edge)
        self._fan.duty_u16(outputs.fan_permille * FULL_U16 // PERMILLE)
        self._stirrer.duty_u16(outputs.stir_permille * FULL_U16 // PERMILLE)
        self._buzzer.value(outputs.buzzer)
        self._lamp.value(outputs.lamp)

    def all_off(self):
        """Heater first, then the rest."""
        self._heater.value(0)
        self._enable.value(0)
        self._fan.duty_u16(0)
        self._stirrer.duty_u16(0)
        self._buzzer.value(0)
        self._lamp.value(0)

    def kick(self):
        """Feed the watchdog, once it runs."""
        if self._watchdog:
            self._watchdog.feed()

    def show(self, display):
        """Four lines for the screen."""
        if self._screen:
            self._screen.show(words.lines(display))
