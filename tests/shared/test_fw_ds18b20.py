"""The probe driver against the lies a 1-wire bus tells. Vectors: raw-to-degree table of the
DS18B20 data sheet (from memory) with check sums computed by the CRC-8 of application note 27."""

from fw_fakes import FakeClock
from rigfw.drivers.ds18b20 import Bus, Probe, crc8, value_mc
from rigwire.messages import MISSING_MC


def _bytes(text):
    return bytes([int(part, 16) for part in text.split()])


def _pad(raw, config=0x7F):
    body = bytes([raw & 0xFF, raw >> 8 & 0xFF, 0x4B, 0x46, config, 0xFF, 0x0C, 0x10])
    return body + bytes([crc8(body, 8)])


class _Wire:
    """A bus with one kind of probe on it; `pad` is what its scratchpad gives."""

    def __init__(self, pad):
        self.pad = pad
        self.is_there = True
        self.written = []

    def reset(self):
        """True when something answers."""
        return self.is_there

    def writebyte(self, value):
        """Kept for the test."""
        self.written.append(value)

    def select_rom(self, rom):
        """Kept for the test."""
        self.written.append(rom)

    def readinto(self, buffer):
        """The scratchpad."""
        buffer[:] = self.pad


def test_the_check_sum_is_the_published_one():
    """ "123456789" gives A1; ROM 02 1C B8 01 00 00 00 gives A2 (published, from memory)."""
    assert crc8(b"123456789", 9) == 0xA1
    assert crc8(_bytes("02 1C B8 01 00 00 00"), 7) == 0xA2


def test_scratchpads_give_their_degrees():
    """Whole scratchpads with their check sums, 3.0625 and 25.0625 degrees."""
    assert value_mc(_bytes("31 00 4B 46 7F FF 0C 10 77")) == 3062
    assert value_mc(_bytes("91 01 4B 46 7F FF 0C 10 70")) == 25062


def test_the_data_sheet_table():
    """125, 10.125, 0.5, 0, -0.5, -10.125, -25.0625, -55 degrees and the working points."""
    for raw, expected_mc in (
        (0x07D0, 125000),
        (0x00A2, 10125),
        (0x0008, 500),
        (0x0000, 0),
        (0xFFF8, -500),
        (0xFF5E, -10125),
        (0xFE6F, -25063),
        (0xFC90, -55000),
        (0x01B0, 27000),
        (0x01F0, 31000),
        (0x0208, 32500),
        (0x02D0, 45000),
    ):
        assert value_mc(_pad(raw)) == expected_mc, hex(raw)


def test_a_shorted_bus_is_not_zero_degrees():
    """Nine zero bytes have a good check sum and are refused; nine FF are refused."""
    assert crc8(bytes(8), 8) == 0
    assert value_mc(bytes(9)) == MISSING_MC
    assert value_mc(bytes([0xFF] * 9)) == MISSING_MC


def test_85_degrees_is_the_value_before_a_conversion():
    """The power-up scratchpad with its good check sum 1C is refused."""
    assert value_mc(_bytes("50 05 4B 46 7F FF 0C 10 1C")) == MISSING_MC


def test_every_single_bit_error_is_refused():
    """No flip of one of the 72 bits of a good scratchpad gives a value."""
    good = bytearray(_bytes("91 01 4B 46 7F FF 0C 10 70"))
    for at in range(9):
        for bit in range(8):
            good[at] ^= 1 << bit
            assert value_mc(good) == MISSING_MC
            good[at] ^= 1 << bit


def test_another_resolution_is_refused():
    """A probe at 9 bits would be ready early and coarse: its value is not used."""
    assert value_mc(_pad(0x01F0, 0x1F)) == MISSING_MC


def test_a_value_is_stamped_with_the_begin_of_its_conversion():
    """Begun at 250, read at 1000 and not before, stamped 250; the first good one is not used."""
    clock = FakeClock()
    wire = _Wire(_pad(0x01F0))
    probe = Probe(b"12345678")
    bus = Bus(wire, [probe], clock)
    fresh = [bus.step(now_ms) for now_ms in range(250, 2250, 250)]
    assert fresh == [False, False, False, True] * 2
    assert wire.written[:2] == [0xCC, 0x44]
    assert (bus.at_ms, probe.value_mc) == (1250, 31000)


def test_the_first_good_value_after_a_gap_is_not_used():
    """31.0, then nothing answers, then 31.0 again: missing, missing, believed."""
    wire = _Wire(_pad(0x01F0))
    probe = Probe(b"12345678")
    bus = Bus(wire, [probe], FakeClock())
    seen = []
    for now_ms in range(0, 8000, 250):
        wire.is_there = not 3000 <= now_ms < 4000
        if bus.step(now_ms):
            seen.append(probe.value_mc)
    missing = MISSING_MC
    assert seen == [missing, 31000, 31000, missing, missing, 31000, 31000, 31000]


def test_one_probe_of_three_may_be_missing():
    """Each probe has its own gap."""
    wire = _Wire(_pad(0x01F0))
    probes = [Probe(b"aaaaaaaa"), Probe(b"bbbbbbbb")]
    bus = Bus(wire, probes, FakeClock())
    plain = wire.readinto

    def readinto(buffer):
        plain(buffer)
        if wire.written[-2] == b"bbbbbbbb":
            buffer[8] ^= 1

    wire.readinto = readinto
    for now_ms in range(0, 3000, 250):
        bus.step(now_ms)
    assert [probe.value_mc for probe in probes] == [31000, MISSING_MC]
