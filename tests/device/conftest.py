"""The Pico's own modules on stand-ins for MicroPython's, and a bench with its parts.

What the stand-ins cannot show (real pins, real time) is for a board on a bench.
"""

import gc
import importlib
import sys
import types
import zlib

import pytest

import fw_framebuf
from fw_displaychip import DisplayChip
from fw_fakes import BENCH
from fw_onewire import Wire
from fw_ptchip import PtChip
from rigfw import codelist
from rigfw.config import RigConfig
from rigfw.drivers.probelist import to_text
from rigfw.slots import to_slot

PASS_CRC = f"{zlib.crc32(b'pass'):08x}"
PACKAGES = tuple(
    "rigfw.pico." + name for name in ("boot", "port", "board", "fitted", "startup", "main")
)


class Bench:
    """Levels of all pins and an account of what happened, in order."""

    def __init__(self):
        self.levels = {16: 1, 17: 1, 18: 0, 19: 1}
        self.did = []
        self.ends_ms = 2000  # eight passes
        self.now_ms = 0
        self.at_ms = {}
        self.wire = Wire([])
        self.chips = {21: PtChip(111.673), 13: PtChip(1116.73, 4300)}
        self.counts = {26: 29246, 27: 29246, 28: 29246}
        self.display = DisplayChip()
        self.on_edge = {}
        self.is_host_reading = False
        self.folder = None
        self.made = []

    def describe(self, roles, **changes):
        """Both files on the flash; the rig of the tests without a room probe, and changes."""
        config = RigConfig(**{**BENCH, "has_room": 0, **changes})
        (self.folder / "rig_a.txt").write_text(to_slot(1, config.to_text()))
        (self.folder / "pico.py").write_text("pass")
        (self.folder / "code.txt").write_text(codelist.to_text([("pico.py", PASS_CRC)]))
        (self.folder / "probes.txt").write_text(to_text(roles) + "\n")

    def built(self):
        """Board and App of the composition root."""
        return importlib.import_module("rigfw.pico.main").build()

    def run(self):
        """main.run until the power goes; board and App."""
        main = importlib.import_module("rigfw.pico.main")
        made = self.made
        build = main.build

        def built():
            made.extend(build())
            return made

        main.build = built
        with pytest.raises(_PowerGone):
            main.run()
        return made


def _machine(bench):
    """A stand-in for `machine`."""

    class Pin:
        """One pin; outputs are noted."""

        IN, OUT, PULL_UP, PULL_DOWN, IRQ_FALLING = 0, 1, 2, 3, 4

        def __init__(self, number, mode=None, pull=None, value=None):
            self.number = number
            if value is not None:
                self.value(value)

        def value(self, level=None):
            """Read or drive."""
            if level is None:
                return bench.levels.get(self.number, 0)
            bench.levels[self.number] = level
            bench.did.append(("pin", self.number, level))
            if self.number in bench.chips:
                bench.chips[self.number].value(level)
            return None

        def irq(self, handler, trigger, hard):
            """Kept, to be called by the test."""
            assert (trigger, hard) == (4, True)
            bench.on_edge[self.number] = handler

    class ADC:
        """Counts of the bench."""

        def __init__(self, pin):
            self.number = pin.number

        def read_u16(self):
            """Read."""
            return bench.counts[self.number]

    class SPI:
        """Talks to the chip whose select pin is low."""

        def __init__(self, number, **settings):
            assert number == 0
            assert (settings["polarity"], settings["phase"]) == (0, 1)
            pins = [settings[name].number for name in ("sck", "mosi", "miso")]
            assert pins == [22, 3, 20]

        def _chip(self):
            (chip,) = [chip for chip in bench.chips.values() if chip.is_selected]
            return chip

        def write(self, buffer):
            """Out."""
            self._chip().write(buffer)

        def readinto(self, buffer):
            """In."""
            self._chip().readinto(buffer)

    class I2C:
        """The display's bus."""

        def __init__(self, number, **settings):
            assert (number, settings["sda"].number, settings["scl"].number) == (0, 4, 5)
            assert settings["timeout"] <= 10000

        def writeto(self, address, data):
            """Out."""
            bench.display.writeto(address, data)

    class PWM:
        """A pulsed pin; its duty is its level."""

        def __init__(self, pin, freq=0, duty_u16=0):
            self.pin = pin
            self.duty_u16(duty_u16)

        def duty_u16(self, duty):
            """Drive."""
            bench.levels[self.pin.number] = duty
            bench.did.append(("pin", self.pin.number, duty))

    class WDT:
        """Notes begin and food."""

        def __init__(self, timeout):
            bench.did.append(("watchdog", timeout))

        def feed(self):
            """Fed."""
            bench.did.append(("fed",))

    module = types.ModuleType("machine")
    module.Pin, module.PWM, module.WDT = Pin, PWM, WDT
    module.ADC, module.SPI, module.I2C = ADC, SPI, I2C
    module.unique_id = lambda: b"\x01\x02"
    module.reset_cause = lambda: 1
    module.reset = lambda: bench.did.append(("reset",))
    return module


class _PowerGone(BaseException):
    """Ends the endless loop of a test."""


def _time(bench):
    """A stand-in for `time` that ends the run after some passes."""
    module = types.ModuleType("time")
    module.ticks_ms = lambda: bench.now_ms
    module.ticks_add = lambda at, more: at + more
    module.ticks_diff = lambda a, b: a - b

    def sleep_ms(span_ms):
        bench.now_ms += span_ms
        for at_ms in sorted(bench.at_ms):
            if at_ms <= bench.now_ms:
                bench.at_ms.pop(at_ms)()
        if bench.now_ms >= bench.ends_ms:
            raise _PowerGone

    module.sleep_ms = sleep_ms
    return module


def _onewire(bench):
    """A stand-in for `onewire` on the bench's bus."""
    module = types.ModuleType("onewire")
    module.OneWire = lambda pin: bench.wire
    return module


def _select(bench):
    """A stand-in for `select`: nothing to read, room to write while the bench's host reads."""

    class Poll:
        """One stream."""

        def register(self, _stream, way):
            """Its way."""
            self.way = way

        def poll(self, _wait_ms):
            """Something, or nothing."""
            return [1] if self.way == module.POLLOUT and bench.is_host_reading else []

    module = types.ModuleType("select")
    module.POLLIN, module.POLLOUT = 1, 4
    module.poll = Poll
    return module


def _micropython(bench):
    """A stand-in for `micropython`."""
    module = types.ModuleType("micropython")
    module.kbd_intr = lambda code: bench.did.append(("kbd_intr", code))
    module.alloc_emergency_exception_buf = lambda size: bench.did.append(("buffer", size))
    return module


@pytest.fixture
def bench(monkeypatch, tmp_path):
    """Stand-ins in place, an empty flash, freshly imported modules of the Pico."""
    made = Bench()
    made.folder = tmp_path
    monkeypatch.chdir(tmp_path)
    for name, module in (
        ("machine", _machine(made)),
        ("time", _time(made)),
        ("onewire", _onewire(made)),
        ("framebuf", fw_framebuf),
        ("select", _select(made)),
        ("micropython", _micropython(made)),
    ):
        monkeypatch.setitem(sys.modules, name, module)
    for name in PACKAGES:
        monkeypatch.delitem(sys.modules, name, raising=False)
    kept = {name: module for name, module in sys.modules.items() if name.startswith("rigfw.")}
    monkeypatch.setattr(sys, "print_exception", print, raising=False)
    monkeypatch.setattr(
        sys.implementation, "_machine", "Raspberry Pi Pico with RP2040", raising=False
    )
    monkeypatch.setattr(gc, "mem_free", lambda: 90000, raising=False)
    yield made
    for name in PACKAGES:
        sys.modules.pop(name, None)
        short = name.rpartition(".")[2]
        vars(sys.modules["rigfw.pico"]).pop(short, None)
    for name, module in kept.items():  # what the boot dropped is the same one for other tests
        package, _, short = name.rpartition(".")
        sys.modules[name] = module
        setattr(sys.modules[package], short, module)
