"""A Raspberry Pi Pico as the board of an App: pins, probes, display, watchdog."""

import gc
import os
from binascii import hexlify

import machine
from machine import PWM, Pin

from rigfw import display as words
from rigfw import limits
from rigfw.drivers.contact import Contact
from rigfw.drivers.speed import Speed
from rigfw.drivers.tachometer import UNKNOWN
from rigfw.pico.port import Port

PWM_HZ = 25000
"""Above hearing, and what four-wire fans expect (common practice)."""

NOT_FITTED = -1


class PicoBoard:
    """Outputs are off before anything else is looked at.

    Optional, None where not fitted: `probes` a ProbeSet, `screen` a Screen, `tacho` a Tachometer.
    `has_sense` says that the heater's node is wired to a pin. `stirrer_rpm` is UNKNOWN (-1)
    without a tachometer or before it knows. `heater_live` is 1 while the heater has voltage, as it
    was at the last `inputs`: that is, under the outputs of the pass before; else 0, or NOT_FITTED.
    """

    simulated = 0

    def __init__(self, probes=None, screen=None, tacho=None, has_sense=False):
        from rigfw.pico import pins  # dropped from memory after boot

        self._heater = Pin(pins.HEATER, Pin.OUT, value=0)
        self._enable = Pin(pins.ENABLE, Pin.OUT, value=0)
        self._buzzer = Pin(pins.BUZZER, Pin.OUT, value=0)
        self._lamp = Pin(pins.LAMP, Pin.OUT, value=0)
        self._fan = Speed(PWM(Pin(pins.FAN), freq=PWM_HZ, duty_u16=0))
        self._stirrer = Speed(PWM(Pin(pins.STIRRER), freq=PWM_HZ, duty_u16=0))
        self._start = Contact(Pin(pins.START, Pin.IN, Pin.PULL_UP), 0)
        self._pedal = Contact(Pin(pins.PEDAL, Pin.IN, Pin.PULL_UP), 0)
        self._stop_loop = Contact(Pin(pins.STOP_LOOP, Pin.IN, Pin.PULL_DOWN), 0)
        self._bowl = Pin(pins.BOWL, Pin.IN, Pin.PULL_UP)
        self._sense = Pin(pins.HEATER_SENSE, Pin.IN, Pin.PULL_DOWN) if has_sense else None
        self._probes = probes
        self._screen = screen
        self._tacho = tacho
        self.stirrer_rpm = UNKNOWN
        self.heater_live = NOT_FITTED
        self._watchdog = None
        self.port = Port()
        self.board_id = "pico-" + hexlify(machine.unique_id()).decode()
        self.boot_nonce = int.from_bytes(os.urandom(4), "little") & 0x3FFFFFFF
        self.boot_cause = machine.reset_cause()

    def start_watchdog(self):
        """From here only passes that come through keep the board alive. It cannot be stopped."""
        self._watchdog = machine.WDT(timeout=limits.WATCHDOG_MS)

    def read_probes(self, readings, now_ms):
        """The last value of each probe with its time; they change about once a second."""
        if self._probes:
            self._probes.step(now_ms)
            self._probes.fill(readings)
        if self._tacho:
            self._tacho.step(now_ms)
            self.stirrer_rpm = self._tacho.rpm

    def sample(self):
        """Contacts between passes, every 20 ms or so, so that a tap is not missed."""
        self._start.sample()
        self._pedal.sample()
        self._stop_loop.sample()

    def inputs(self, inputs):
        """Contacts. The stop loop is high while closed, so a broken wire reads as pressed."""
        inputs.start_down = self._start.take()
        inputs.pedal_down = self._pedal.take()
        inputs.bowl_present = 1 - self._bowl.value()
        inputs.stop_open = self._stop_loop.take()
        if self._sense:
            self.heater_live = inputs.heater_live = self._sense.value()
        inputs.stir_turning = 1 if self.stirrer_rpm > 0 else 0

    def write(self, outputs):
        """Drive every output as asked."""
        self._heater.value(outputs.heat_on)
        self._enable.value(outputs.enable_edge)
        self._fan.set(outputs.fan_permille)
        self._stirrer.set(outputs.stir_permille)
        self._buzzer.value(outputs.buzzer)
        self._lamp.value(outputs.lamp)

    def all_off(self):
        """Heater first, then the rest."""
        self._heater.value(0)
        self._enable.value(0)
        self._fan.set(0)
        self._stirrer.set(0)
        self._buzzer.value(0)
        self._lamp.value(0)

    def restart(self):
        """All off, then a boot from the beginning."""
        self.all_off()
        machine.reset()

    def free_bytes(self):
        """What the heap has left; the loop collects after every pass."""
        return gc.mem_free()

    def kick(self):
        """Feed the watchdog, once it runs."""
        if self._watchdog:
            self._watchdog.feed()

    def show(self, display):
        """Four lines for the screen."""
        try:
            if self._screen:
                self._screen.show(words.lines(display))
        except Exception as fault:
            self._give_up_screen(fault)

    def after_pass(self, now_ms):
        """What may wait: a page of the display, a line of words for the console."""
        try:
            if self._screen:
                self._screen.step(now_ms)
        except Exception as fault:
            self._give_up_screen(fault)
        if self._probes and self.port.can_tell():
            news = self._probes.news()
            if news:
                self.port.tell(news)

    def _give_up_screen(self, fault):
        """Not even a mistake in the display's program is a fault of the batch."""
        self._screen = None
        if self.port.can_tell():
            self.port.tell("display given up: " + repr(fault))

    def trouble(self):
        """Why this rig should not start again, in words, else ""."""
        rom = self._probes.unlisted() if self._probes else None
        return unlisted_words(rom) if rom else ""


def unlisted_words(rom):
    """Names a device on the bus that no role has."""
    return "not in the list of probes: " + hexlify(rom).decode()
