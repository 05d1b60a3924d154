"""The probe driver against the lies a 1-wire bus tells. Vectors: raw-to-degree table of the
DS18B20 data sheet (from memory) with check sums computed by the CRC-8 of application note 27."""

from fw_fakes import FakeClock
from fw_onewire import Chip, Wire, hex_bytes, pad_of, rom_of
from rigfw.drivers import probe as probes
from rigfw.drivers.ds18b20 import Bus, Probe, refusal, value_mc
from rigfw.drivers.onewire_crc import crc8
from rigwire.messages import MISSING_MC

MINE = rom_of(1)


class _Rig:
    """A bus with one listed probe; `rounds` gives (value, why) of each reading."""

    def __init__(self, *chips):
        self.chip = Chip(MINE)
        self.wire = Wire([self.chip] + list(chips))
        self.probe = Probe(MINE)
        self.bus = Bus(self.wire, [self.probe], FakeClock())
        self.now_ms = 0

    def round(self, between=None):
        """One conversion; `between` happens while it runs."""
        for number in range(6):
            if number == 2 and between:
                between()
            self.now_ms += 250
            if self.bus.step(self.now_ms):
                break
        self.passes = number + 1
        return self.probe.value_mc, self.probe.why


def test_the_check_sum_is_the_published_one():
    """ "123456789" gives A1 (catalogue of CRC algorithms, CRC-8/MAXIM-DOW, from memory);
    ROM 02 1C B8 01 00 00 00 gives A2 (application note 27, from memory)."""
    assert crc8(b"123456789", 9) == 0xA1
    assert crc8(hex_bytes("02 1C B8 01 00 00 00"), 7) == 0xA2


def test_scratchpads_give_their_degrees():
    """Whole scratchpads with their check sums, 3.0625 and 25.0625 degrees."""
    assert value_mc(hex_bytes("31 00 4B 46 7F FF 0C 10 77")) == 3062
    assert value_mc(hex_bytes("91 01 4B 46 7F FF 0C 10 70")) == 25062


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
        (0x0320, 50000),
    ):
        assert value_mc(pad_of(raw)) == expected_mc, hex(raw)


def test_a_shorted_bus_is_not_zero_degrees():
    """Nine zero bytes have a good check sum and are refused, and said to be zeros."""
    assert crc8(bytes(8), 8) == 0
    assert refusal(bytes(9)) == probes.ALL_ZEROS
    assert value_mc(bytes(9)) == MISSING_MC


def test_a_bus_that_nobody_drives_reads_ones():
    """Nine FF: refused and said to be ones. Their check sum would be C9 (calculated)."""
    assert crc8(bytes([0xFF] * 8), 8) == 0xC9
    assert refusal(bytes([0xFF] * 9)) == probes.ALL_ONES
    assert value_mc(bytes([0xFF] * 9)) == MISSING_MC


def test_85_degrees_is_the_value_before_a_conversion():
    """The power-up scratchpad with its good check sum 1C is refused; a bit beside it is not."""
    assert refusal(hex_bytes("50 05 4B 46 7F FF 0C 10 1C")) == probes.START_UP
    assert value_mc(pad_of(0x0551)) == 85062
    assert value_mc(pad_of(0x054F)) == 84937


def test_every_single_bit_error_is_refused():
    """No flip of one of the 72 bits of a good scratchpad gives a value."""
    good = bytearray(hex_bytes("91 01 4B 46 7F FF 0C 10 70"))
    for at in range(9):
        for bit in range(8):
            good[at] ^= 1 << bit
            assert refusal(good) == probes.CHECK_SUM
            assert value_mc(good) == MISSING_MC
            good[at] ^= 1 << bit


def test_fixed_bytes_that_are_not_fixed_are_refused():
    """Byte 5 is FF and byte 7 is 10; a good check sum does not help."""
    assert refusal(pad_of(0x01F0, five=0x00)) == probes.RESERVED
    assert refusal(pad_of(0x01F0, seven=0xFF)) == probes.RESERVED


def test_another_resolution_is_refused():
    """A probe at 9, 10 or 11 bits would be coarse: its value is not used."""
    for config in (0x1F, 0x3F, 0x5F):
        assert refusal(pad_of(0x01F0, config)) == probes.RESOLUTION


def test_a_value_is_stamped_with_the_begin_of_its_conversion():
    """Begun at 250, read at 1000 and not before, stamped 250; the first good one is not used."""
    wire = Wire([Chip(MINE)])
    probe = Probe(MINE)
    bus = Bus(wire, [probe], FakeClock())
    fresh = [bus.step(now_ms) for now_ms in range(250, 2250, 250)]
    assert fresh == [False, False, False, True] * 2
    assert (probe.at_ms, probe.value_mc) == (1250, 31000)


def test_the_orders_of_a_round_byte_by_byte():
    """Search, then to all: write round number, mark and 12 bits; convert; read, after a match."""
    rig = _Rig()
    rig.round()
    assert bytes(rig.wire.written) == hex_bytes("F0 CC 4E 01 A5 7F CC 44 BE")


def test_the_stamp_is_right_across_the_wrap_of_the_clock():
    """A conversion begun 500 ms before the wrap is read after it."""
    clock = FakeClock()
    probe = Probe(MINE)
    bus = Bus(Wire([Chip(MINE)]), [probe], clock)
    began_ms = FakeClock.WRAP - 1500
    fresh = [bus.step(clock.add(began_ms, more)) for more in range(0, 2000, 250)]
    assert fresh == [False, False, False, True] * 2
    assert (probe.at_ms, probe.value_mc) == (FakeClock.WRAP - 500, 31000)


def test_the_first_good_value_after_a_gap_is_not_used():
    """31.0, then nothing answers, then 31.0 again: missing, missing, believed."""
    rig = _Rig()
    seen = []
    for number in range(8):
        rig.chip.is_there = number != 3
        seen.append(rig.round())
    good, first, none = (31000, probes.FINE), probes.FIRST_VALUE, probes.NO_ANSWER
    gap = [(MISSING_MC, none), (MISSING_MC, first)]
    assert seen == [(MISSING_MC, first), good, good] + gap + [good, good, good]


def test_a_copy_that_starts_with_25_degrees_after_losing_power_is_found():
    """48.0, a dip of its supply in the middle of a conversion: 25.0 is shown and not believed."""
    rig = _Rig()
    rig.chip.start_raw, rig.chip.raw = 0x0190, 0x0300
    rig.round()
    assert rig.round() == (48000, probes.FINE)
    assert rig.round(rig.chip.power_up) == (MISSING_MC, probes.LOST_POWER)
    assert rig.round() == (MISSING_MC, probes.FIRST_VALUE)
    assert rig.round() == (48000, probes.FINE)


def test_an_honest_25_degrees_is_believed():
    """The same raw value, measured, in a chip that kept its power."""
    rig = _Rig()
    rig.chip.raw = 0x0190
    rig.round()
    assert rig.round() == (25000, probes.FINE)


def test_the_number_of_another_round_is_refused():
    """A chip that did not get this round's number shows an older one."""
    rig = _Rig()
    rig.round()
    rig.round()
    rig.chip.is_deaf = True
    assert rig.round() == (MISSING_MC, probes.LOST_POWER)


def test_a_round_number_that_the_chip_happens_to_start_with_is_not_enough():
    """A new chip holds 4B 46; one that starts anew in round 4B is found by the mark."""
    rig = _Rig()
    for _ in range(0x4A):
        rig.round()
    assert rig.round(rig.chip.power_up) == (MISSING_MC, probes.START_UP)
    rig.bus._round = 0x4A
    rig.round()
    rig.bus._round = 0x4A
    rig.chip.start_raw = 0x0190
    assert rig.round(rig.chip.power_up) == (MISSING_MC, probes.LOST_POWER)


def test_a_probe_that_goes_while_it_converts_does_not_answer():
    """Said as such, not as a bus of ones."""
    rig = _Rig()
    rig.round()

    def pull_out():
        rig.chip.is_there = False

    assert rig.round(pull_out) == (MISSING_MC, probes.NO_ANSWER)


def test_a_conversion_that_ends_one_pass_late_is_read():
    """A pass came early: one pass more, same stamp, no gap."""
    rig = _Rig()
    rig.round()
    rig.round()
    rig.chip.busy_reads = 1
    assert rig.round() == (31000, probes.FINE)
    assert (rig.passes, rig.probe.at_ms) == (5, rig.now_ms - 1000)


def test_a_conversion_that_did_not_end_is_not_read():
    """The bus still reads 0: missing, although the scratchpad is in order."""
    rig = _Rig()
    rig.round()
    rig.round()
    rig.chip.busy_reads = 99
    rig.chip.raw = 0x0300
    assert rig.round() == (MISSING_MC, probes.NOT_DONE)
    assert rig.passes == 5


def test_a_conversion_that_did_not_begin_is_not_read():
    """Nothing answered at its begin and all answer at its end: the value is an old one."""
    rig = _Rig()
    rig.round()
    rig.round()
    rig.chip.is_there = False

    def back():
        rig.chip.is_there = True

    assert rig.round(back) == (MISSING_MC, probes.NO_ANSWER)


def test_a_bus_held_low_gives_nothing():
    """Shorted from the start and in the middle."""
    rig = _Rig()
    rig.round()
    rig.wire.is_short = True
    assert rig.round() == (MISSING_MC, probes.NOT_DONE)
    assert rig.bus.unlisted is None
    rig.bus._is_converting = False
    assert rig.bus._fetch(MINE) == probes.ALL_ZEROS


def test_one_probe_of_two_may_be_missing():
    """Each probe has its own gap."""
    rig = _Rig(Chip(rom_of(2)))
    other = Probe(rom_of(2))
    rig.bus._probes.append(other)
    rig.wire.chips[1].bad_bits = ((8, 1),)
    rig.round()
    assert rig.round() == (31000, probes.FINE)
    assert (other.value_mc, other.why) == (MISSING_MC, probes.CHECK_SUM)


def test_a_device_that_is_not_listed_is_reported_and_never_read():
    """Two listed or not: every device is looked at within as many rounds as there are."""
    rig = _Rig(Chip(rom_of(9), raw=0x0300), Chip(rom_of(7, family=0x26)))
    seen = set()
    for _ in range(4):
        assert rig.round()[0] in (MISSING_MC, 31000)
        seen.add(rig.bus.unlisted)
    assert seen - {None} == {rom_of(9), rom_of(7, family=0x26)}


def test_listed_devices_are_not_reported():
    """Ten rounds with nothing but the listed probe."""
    rig = _Rig()
    for _ in range(10):
        rig.round()
    assert rig.bus.unlisted is None


def test_calibration_corrects_a_believed_value():
    """31.000 with 0.25 K less and 0.1 % more: 30.781; a missing value stays missing."""
    probe = probes.Probe(-250, 100)
    probe.take(31000, 5)
    assert (probe.value_mc, probe.at_ms) == (30781, 5)
    probe.miss(probes.OPEN, 6)
    assert (probe.value_mc, probe.at_ms, probes.WHY[probe.why][:4]) == (MISSING_MC, 6, "open")
