"""What is fitted to the board, built on its pins: probes by their list, display, tachometer.

A driver is loaded where its kind is fitted, and takes no memory elsewhere.
"""

from machine import ADC, I2C, SPI, Pin
from onewire import OneWire

from rigfw.drivers.probe import Probe
from rigfw.drivers.probeset import ProbeSet
from rigfw.pico import pins

NTC_PINS = (pins.NTC_1, pins.NTC_2, pins.NTC_3)
PT_PINS = (pins.PT_SELECT_1, pins.PT_SELECT_2)
PT_HZ = 1000000
DISPLAY_HZ = 400000
DISPLAY_WAIT_US = 10000
"""A page takes 3 ms; a display that holds its clock low costs this once in 5 s."""
OHM_0 = {"pt100": 100, "pt1000": 1000}


def one_wire():
    """The bus of the DS18B20 probes."""
    return OneWire(Pin(pins.PROBES))


class Fitting:
    """Makes the ProbeSet of a list; `build` once."""

    def __init__(self, wire, clock):
        self._wire = wire
        self._clock = clock
        self._sources = []
        self._on_wire = []
        self._spi = self._selects = None

    def build(self, listed):
        """All probes of `probelist.listed`, with the buses and channels they need."""
        roles = [self._probe(one) if one else None for one in listed]
        bus = None
        if self._on_wire:
            from rigfw.drivers import ds18b20

            bus = ds18b20.Bus(self._wire, self._on_wire, self._clock)
            self._sources.append(bus)
        return ProbeSet(self._sources, roles, bus)

    def _probe(self, one):
        offset_mk, slope_e5 = one["offset_mk"], one["slope_e5"]
        if one["kind"] == "ds18b20":
            from rigfw.drivers import ds18b20

            probe = ds18b20.Probe(one["rom"], offset_mk, slope_e5)
            self._on_wire.append(probe)
            return probe
        probe = Probe(offset_mk, slope_e5)
        make = self._platinum if one["kind"] in OHM_0 else self._thermistor
        self._sources.append(make(one, probe))
        return probe

    def _thermistor(self, one, probe):
        from rigfw.drivers import thermistor

        if one["kind"] == "ntc":
            curve = thermistor.three_point_curve(one["ohm_0"], one["ohm_25"], one["ohm_50"])
        else:
            curve = thermistor.beta_curve(one["ohm_25"], one["beta_k"])
        adc = ADC(Pin(NTC_PINS[one["channel"] - 1]))
        return thermistor.Thermistor(adc, probe, one["pull_ohm"], curve)

    def _platinum(self, one, probe):
        from rigfw.drivers.platinum import Platinum

        if not self._spi:
            # Every chip on the bus must be quiet, the unused one too.
            self._selects = [Pin(number, Pin.OUT, value=1) for number in PT_PINS]
            self._spi = _spi()
        select = self._selects[one["channel"] - 1]
        ohm_0, reference_ohm = OHM_0[one["kind"]], one["reference_ohm"]
        wires, mains_hz = one["wires"], one["mains_hz"]
        return Platinum(
            self._spi, select, probe, self._clock, ohm_0, reference_ohm, wires, mains_hz
        )


def _spi():
    clock, out, back = Pin(pins.PT_CLOCK), Pin(pins.PT_OUT), Pin(pins.PT_IN)
    return SPI(0, baudrate=PT_HZ, polarity=0, phase=1, sck=clock, mosi=out, miso=back)


def screen(clock):
    """The display, whether it is there or not."""
    from framebuf import MONO_VLSB, FrameBuffer

    from rigfw.drivers.screen import HEIGHT, PAGES, WIDTH, Screen

    sda, scl = Pin(pins.DISPLAY_SDA), Pin(pins.DISPLAY_SCL)
    i2c = I2C(0, sda=sda, scl=scl, freq=DISPLAY_HZ, timeout=DISPLAY_WAIT_US)
    buffer = bytearray(PAGES * WIDTH)
    return Screen(i2c, FrameBuffer(buffer, WIDTH, HEIGHT, MONO_VLSB), buffer, clock)


def tachometer(clock, pulses_per_turn):
    """The stirrer's tachometer, counting falling edges by interrupt."""
    from rigfw.drivers.tachometer import Tachometer

    made = Tachometer(clock, pulses_per_turn)
    pin = Pin(pins.TACHO, Pin.IN, Pin.PULL_UP)
    pin.irq(handler=made.pulse, trigger=Pin.IRQ_FALLING, hard=True)
    return made
