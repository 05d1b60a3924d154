"""Chips behind edges and microseconds answer the firmware's drivers as the chips of bytes do.

The emulated board hangs the same BitSlave on a simulated pin.
"""

from fw_bitslave import HOLD_ZERO_US, BitMaster, BitSlave
from fw_fakes import FakeClock
from fw_onewire import Chip, Wire, rom_of
from rigfw.drivers.ds18b20 import Bus, Probe
from rigfw.drivers.romsearch import roms_on
from rigwire.messages import MISSING_MC


def _line(*chips):
    wire = Wire(list(chips))
    return wire, BitMaster(BitSlave(wire))


def _round(bus, probe):
    now_ms = 0
    for _ in range(6):
        now_ms += 250
        if bus.step(now_ms):
            break
    return probe.value_mc


def test_the_search_finds_every_chip_by_its_bits():
    """Three chips whose numbers differ early and late: the same as over bytes."""
    chips = [Chip(rom_of(number)) for number in (1, 2, 0x8001)]
    _, master = _line(*chips)
    assert roms_on(master) == sorted([chip.rom for chip in chips])
    assert roms_on(_line()[1]) == []


def test_presence_is_where_the_data_sheet_has_it():
    """Low from 30 to 150 us after the release; nobody there, nothing low."""
    _, master = _line(Chip(rom_of(1)))
    assert master.reset()
    from_us, to_us = master.slave.low
    assert (from_us - 500, to_us - 500) == (30, 150)
    assert not _line()[1].reset()


def test_a_zero_is_held_and_a_one_is_not():
    """In a read slot a 0 holds the line from the falling edge for 45 us."""
    _, master = _line(Chip(rom_of(1)))
    master.reset()
    master.writebyte(0xF0)
    begun_us = master.now_us
    first = master.readbit()
    assert first == (rom_of(1)[0] & 1)
    assert master.slave.low == (None if first else (begun_us, begun_us + HOLD_ZERO_US))


def test_the_driver_reads_its_probe_over_the_bits():
    """31.0 degC of the second of two chips, after its first conversion; then 45.0."""
    chips = Chip(rom_of(1), raw=0x01B0), Chip(rom_of(2), raw=0x01F0)
    _, master = _line(*chips)
    probe = Probe(rom_of(2))
    bus = Bus(master, [probe], FakeClock())
    for _ in range(3):
        value_mc = _round(bus, probe)
    assert value_mc == 31000
    chips[1].raw = 0x02D0
    for _ in range(2):
        value_mc = _round(bus, probe)
    assert value_mc == 45000


def test_an_unplugged_probe_and_a_shorted_line_are_missing():
    """No presence, or a line held low: missing, never 0."""
    chip = Chip(rom_of(1))
    wire, master = _line(chip)
    probe = Probe(rom_of(1))
    bus = Bus(master, [probe], FakeClock())
    for _ in range(3):
        _round(bus, probe)
    chip.is_there = False
    assert _round(bus, probe) == MISSING_MC
    chip.is_there, wire.is_short = True, True
    assert _round(bus, probe) == MISSING_MC
