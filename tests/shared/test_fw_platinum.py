"""Platinum probes against the table of IEC 60751 and a converter chip made of registers.

Table: IEC 60751 reference function, R0 = 100 ohm, three decimals; calculated from the published
coefficients and the same as the printed tables (from memory).
"""

from fw_fakes import FakeClock
from fw_ptchip import PtChip
from rigfw.drivers import probe as probes
from rigfw.drivers.platinum import Platinum, celsius
from rigwire.messages import MISSING_MC

TABLE = (
    (-20, 92.160),
    (-10, 96.086),
    (0, 100.000),
    (10, 103.903),
    (20, 107.794),
    (25, 109.735),
    (27, 110.510),
    (30, 111.673),
    (32, 112.447),
    (34, 113.222),
    (40, 115.541),
    (45, 117.470),
    (50, 119.397),
    (60, 123.242),
    (80, 130.897),
    (100, 138.506),
    (150, 157.325),
    (200, 175.856),
)


class _Rig:
    """One chip and its driver; `second` gives (value, why)."""

    def __init__(self, chip, ohm_0=100, reference_ohm=430, wires=3, mains_hz=50):
        self.chip = chip
        self.clock = FakeClock()
        self.probe = probes.Probe()
        self.driver = Platinum(
            chip, chip, self.probe, self.clock, ohm_0, reference_ohm, wires, mains_hz
        )

    def one_pass(self, passed_ms=250):
        """A pass, so long after the last one really."""
        self.clock.now = self.clock.add(self.clock.now, passed_ms)
        return self.driver.step(self.clock.now)

    def second(self, before_last=None):
        """Four passes."""
        fresh = [self.one_pass() for _ in range(3)]
        if before_last:
            before_last()
        assert fresh + [self.one_pass()] == [False, False, False, True]
        return self.probe.value_mc, self.probe.why


def test_the_inverse_of_the_norm():
    """Every row within the table's rounding: half of 0.001 ohm is 1.3 mK; 1.1 more at -20."""
    for degrees, ohm in TABLE:
        assert abs(celsius(ohm / 100) - degrees) < 0.0025, degrees


def test_the_norm_by_its_own_inverse():
    """R of -10 to 200 degC by the norm's formula with its third term, back within 0.3 mK."""
    for degrees in range(-10, 201):
        ratio = 1 + 3.9083e-3 * degrees - 5.775e-7 * degrees**2
        if degrees < 0:
            ratio -= 4.183e-12 * (degrees - 100) * degrees**3
        assert abs(celsius(ratio) - degrees) < 3e-4, degrees


def test_a_pt100_reads_the_table():
    """430 ohm reference: within one code (0.034 K) and the table's rounding, -10 to 100 degC."""
    for degrees, ohm in TABLE:
        if -10 < degrees <= 100:
            value_mc, why = _Rig(PtChip(ohm)).second()
            assert why == probes.FINE, degrees
            assert abs(value_mc - 1000 * degrees) <= 20, degrees


def test_a_pt1000_reads_ten_times_the_table():
    """4300 ohm reference."""
    for degrees, ohm in TABLE:
        if -10 < degrees <= 100:
            rig = _Rig(PtChip(10 * ohm, 4300), 1000, 4300)
            value_mc, why = rig.second()
            assert (why, abs(value_mc - 1000 * degrees) <= 20) == (probes.FINE, True), degrees


def test_the_orders_of_a_second_byte_by_byte():
    """Limits, bias and clear; look for faults; one shot; bias off. 3 wires and 50 Hz: 11 hex."""
    chip = PtChip(111.673)
    _Rig(chip).second()
    limits = [0x83, 0x59, 0x4C, 0x36, 0xC4]  # 150 and 92 ohm of 430
    assert chip.orders == [limits, [0x80, 0x93], [0x80, 0x95], [0x80, 0xB1], [0x80, 0x11]]


def test_wires_and_filter_are_set_as_described():
    """Two or four wires and 60 Hz: no bit of either."""
    for wires in (2, 4):
        chip = PtChip(111.673)
        _Rig(chip, wires=wires, mains_hz=60).second()
        assert chip.orders[1:] == [[0x80, 0x82], [0x80, 0x84], [0x80, 0xA0], [0x80, 0x00]]


def test_a_value_is_stamped_with_its_measurement():
    """Current on at 250, measured at 750, read at 1000: stamped 750."""
    rig = _Rig(PtChip(111.673))
    rig.second()
    assert rig.probe.at_ms == 750


def test_a_pass_that_comes_early_waits():
    """Only 60 ms after the order to measure: not read; read in the next pass."""
    rig = _Rig(PtChip(111.673))
    for _ in range(3):
        rig.one_pass()
    assert not rig.one_pass(60)
    assert rig.probe.why == probes.NO_ANSWER
    assert rig.one_pass(190)
    assert rig.probe.why == probes.FINE


def test_each_fault_bit_is_refused():
    """Every bit alone, with a resistance that by itself is good; the driver shows the bits."""
    for bit in (0x80, 0x40, 0x20, 0x10, 0x08, 0x04):
        chip = PtChip(111.673)
        chip.fault_bits = bit
        rig = _Rig(chip)

        def clear(chip=chip):  # the bit in the status, none in the reading
            chip.registers[2] &= 0xFE

        value_mc, why = rig.second(clear)
        assert (value_mc, rig.driver.fault_bits) == (MISSING_MC, bit)
        expected = {0x40: probes.SHORT, 0x20: probes.CHIP_FAULT, 0x04: probes.CHIP_FAULT}
        assert why == expected.get(bit, probes.OPEN), hex(bit)


def test_an_open_probe_and_a_shorted_one():
    """Full scale is open, 0 ohm is short: by the chip's own limits."""
    assert _Rig(PtChip(5000)).second() == (MISSING_MC, probes.OPEN)
    assert _Rig(PtChip(0)).second() == (MISSING_MC, probes.SHORT)


def test_a_fault_in_the_reading_alone_is_refused():
    """The reading's own fault bit set and no bit in the status."""
    chip = PtChip(111.673)
    rig = _Rig(chip)

    def flip():
        chip.registers[2] |= 1

    assert rig.second(flip) == (MISSING_MC, probes.CHIP_FAULT)


def test_a_chip_that_is_not_there_is_refused():
    """The bus floats: all ones, or all zeros."""
    chip = PtChip(111.673)
    chip.is_there = False
    assert _Rig(chip).second() == (MISSING_MC, probes.CHIP_SETTINGS)
    chip.idle = 0x00
    assert _Rig(chip).second() == (MISSING_MC, probes.CHIP_SETTINGS)


def test_a_chip_that_lost_its_power_is_refused():
    """Its settings, or its limits, are those of a start; the last reading still stands there."""
    for at, value in ((0, 0x00), (3, 0xFF), (5, 0x00)):
        chip = PtChip(111.673)
        rig = _Rig(chip)
        rig.second()

        def lose(chip=chip, at=at, value=value):
            chip.registers[at] = value

        assert rig.second(lose) == (MISSING_MC, probes.CHIP_SETTINGS)
        assert rig.second()[1] == probes.FINE


def test_beyond_what_is_measured_is_refused():
    """-15 and 125 degC lie inside the chip's limits and outside ours."""
    for ohm in (94.12, 147.95):
        assert _Rig(PtChip(ohm)).second() == (MISSING_MC, probes.OUT_OF_RANGE)


def test_a_probe_on_the_wrong_reference_is_refused():
    """A Pt1000 where a Pt100 is described reads as open, the other way round as short."""
    assert _Rig(PtChip(1116.73)).second() == (MISSING_MC, probes.OPEN)
    rig = _Rig(PtChip(111.673, 4300), 1000, 4300)
    assert rig.second() == (MISSING_MC, probes.SHORT)
