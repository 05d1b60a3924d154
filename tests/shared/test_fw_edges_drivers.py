"""What drivers believe, one unit to either side of each limit."""

from fw_fakes import FakeClock
from fw_ptchip import PtChip
from rigfw.drivers import probe as probes
from rigfw.drivers import thermistor
from rigfw.drivers.ds18b20 import Bus
from rigfw.drivers.onewire_crc import crc8
from rigfw.drivers.platinum import Platinum
from rigfw.drivers.tachometer import Tachometer
from rigwire.messages import MISSING_MC


class _Wire:
    """A 1-wire bus that answers `bit`, or does not answer; keeps what was written."""

    def __init__(self, bit=1, is_there=True):
        self.bit, self.is_there = bit, is_there
        self.written = []

    def reset(self):
        """Whether anything is there."""
        return self.is_there

    def readbit(self):
        """Always the same."""
        return self.bit

    def writebit(self, _value):
        """Nobody listens."""

    def writebyte(self, value):
        """Kept."""
        self.written.append(value)


class _Found:
    """A search that finds what the test says, one a call."""

    def __init__(self, *roms):
        self.roms = list(roms)

    def step(self):
        """The next one."""
        return self.roms.pop(0)


def test_the_check_sum_of_the_1_wire_bus():
    """CRC-8/MAXIM: its check value a1, the ROM of the maker's note (from memory), zeros 0."""
    assert crc8(b"123456789", 9) == 0xA1
    assert crc8(bytes((2, 0x1C, 0xB8, 1, 0, 0, 0)), 7) == 0xA2
    assert crc8(bytes(8), 8) == 0
    assert crc8(b"\x01", 1) == 0x5E


def test_a_conversion_is_waited_for_745_ms_and_995_at_the_most():
    """A ms less, and it is still time; while the bus is low only the longest counts."""
    for bit, passed_ms, is_time in (
        (1, 744, False), (1, 745, True), (0, 745, False), (0, 994, False), (0, 995, True),
    ):  # fmt: skip
        bus = Bus(_Wire(bit), [], FakeClock())
        bus._is_begun = True
        assert bool(bus._is_time(passed_ms)) == is_time, (bit, passed_ms)


def test_what_never_began_is_not_waited_for():
    """A bus that did not answer is low for ever: told at once."""
    bus = Bus(_Wire(0), [], FakeClock())
    bus._is_begun = False
    assert bus._is_time(745)
    assert not bus._is_time(744)


def test_nothing_is_ordered_where_nothing_answers():
    """No byte is written, and no conversion has begun."""
    wire = _Wire(1, False)
    probe = probes.Probe()
    probe.rom = bytes(8)
    bus = Bus(wire, [probe], FakeClock())
    assert not bus.step(0)
    assert wire.written == []
    assert bus.step(745)
    assert probe.why == probes.NO_ANSWER


def test_an_unlisted_device_stays_named_when_a_later_look_finds_none():
    """What is listed is not named."""
    probe = probes.Probe()
    probe.rom = b"listed"
    bus = Bus(_Wire(), [probe], FakeClock())
    bus._search = _Found(b"listed", b"other", None, b"listed")
    named = []
    for _ in range(4):
        bus._look()
        named.append(bus.unlisted)
    assert named == [None, b"other", b"other", b"other"]


def test_a_probe_keeps_value_time_and_reason():
    """Taken: with its correction, rounded; missed: no number."""
    probe = probes.Probe(-200, 150)
    assert (probe.value_mc, probe.at_ms, probe.why) == (MISSING_MC, 0, probes.NO_ANSWER)
    probe.take(30000, 1250)
    assert (probe.value_mc, probe.at_ms, probe.why) == (29845, 1250, probes.FINE)
    probe.miss(probes.OPEN, 2250)
    assert (probe.value_mc, probe.at_ms, probe.why) == (MISSING_MC, 2250, probes.OPEN)


def _platinum(chip, reference_ohm=430, ohm_0=100):
    clock, probe = FakeClock(), probes.Probe()
    return Platinum(chip, chip, probe, clock, ohm_0, reference_ohm, 3, 50), clock, probe


def test_a_platinum_value_from_minus_10_to_120_degrees():
    """A milli-degree beyond either end is none."""
    for read_mc, why in (
        (-10001, probes.OUT_OF_RANGE), (-10000, probes.FINE), (120000, probes.FINE),
        (120001, probes.OUT_OF_RANGE),
    ):  # fmt: skip
        driver, _clock, probe = _platinum(PtChip(100))
        driver._refusal = lambda: probes.FINE
        driver._value_mc = lambda read_mc=read_mc: read_mc
        driver._read()
        assert probe.why == why, read_mc
        assert probe.value_mc == (read_mc if why == probes.FINE else MISSING_MC)


def test_a_measurement_takes_70_ms_and_not_one_less():
    """A pass that comes early waits for the next."""
    for passed_ms, is_read in ((69, False), (70, True)):
        driver, clock, _probe = _platinum(PtChip(100))
        for _ in range(3):
            driver.step(clock.now)
        clock.now += passed_ms
        assert driver.step(clock.now) is is_read


def test_a_high_limit_beyond_the_chips_scale_is_its_greatest():
    """A reference of less than 1.5 times the probe's ohms: fffe, and no byte of 256."""
    driver, _clock, _probe = _platinum(PtChip(100), 120)
    assert driver._limits[:2] == b"\xff\xfe"
    driver, _clock, _probe = _platinum(PtChip(100), 430)
    assert driver._limits[:2] == bytes((0x59, 0x4C))


class _Spi:
    """A chip that answers these registers; `said` has its select line and what was written."""

    def __init__(self, registers):
        self.registers = registers
        self.said = []

    def value(self, level):
        """The select line."""
        self.said.append(level)

    def write(self, data):
        """Kept."""
        self.said.append(bytes(data))

    def readinto(self, buffer):
        """The registers."""
        buffer[:] = self.registers


def test_the_chip_is_let_go_between_reading_and_writing():
    """Each exchange begins with its select line low and ends with it high."""
    spi = _Spi(bytes(8))
    driver, _clock, probe = _platinum(spi)
    del spi.said[:]
    driver._read()
    assert spi.said == [0, b"\x00", 1, 0, b"\x80\x11", 1]
    assert probe.why == probes.CHIP_SETTINGS


def test_fault_bits_of_a_chip_that_lost_its_settings_are_none():
    """What it says then is not about this probe."""
    spi = _Spi(bytes(8))
    driver, _clock, probe = _platinum(spi)
    spi.registers = bytes((driver._settings, 0, 0)) + driver._limits + b"\x80"
    driver._read()
    assert (probe.why, driver.fault_bits) == (probes.OPEN, 0x80)
    spi.registers = bytes(7) + b"\x80"
    driver._read()
    assert (probe.why, driver.fault_bits) == (probes.CHIP_SETTINGS, 0)


def _thermistor_reads(read_mc):
    """What a thermistor makes of a mean that is `read_mc` by its curve."""

    class Adc:
        """Half of full scale."""

        def read_u16(self):
            """One reading."""
            return 32768

    probe = probes.Probe()
    channel = thermistor.Thermistor(Adc(), probe, 10000, (0, 0, 0))
    before = thermistor.celsius
    thermistor.celsius = lambda _ohm, _curve: read_mc / 1000
    try:
        for at_ms in range(0, 1000, 250):
            channel.step(at_ms)
    finally:
        thermistor.celsius = before
    return probe.value_mc, probe.why


def test_a_thermistors_value_from_minus_10_to_120_degrees():
    """A milli-degree beyond either end is none."""
    for read_mc in (-10000, 120000):
        assert _thermistor_reads(read_mc) == (read_mc, probes.FINE)
    for read_mc in (-10001, 120001):
        assert _thermistor_reads(read_mc) == (MISSING_MC, probes.OUT_OF_RANGE)


def test_a_bounce_is_nearer_than_half_of_the_fastest_pulses():
    """300 rpm and one pulse a turn: 99 ms and 0 ms are none, 100 ms is a pulse."""
    for apart_ms, count in ((0, 1), (99, 1), (100, 2)):
        clock = FakeClock()
        tacho = Tachometer(clock, 1)
        clock.now = 1000
        tacho.pulse()
        clock.now += apart_ms
        tacho.pulse()
        assert tacho._count == count, apart_ms


def test_a_speed_is_known_from_a_span_of_900_ms():
    """A ms less waits for the next pulse."""
    for span_ms, rpm in ((900, 67), (899, -1)):
        clock = FakeClock()
        tacho = Tachometer(clock, 1)
        clock.now = 1000
        tacho.pulse()
        tacho.step(clock.now)
        clock.now += span_ms
        tacho.pulse()
        tacho.step(clock.now)
        assert tacho.rpm == rpm, span_ms
