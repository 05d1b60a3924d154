"""The search for devices on a 1-wire bus, on a bus made of bits."""

from fw_onewire import Chip, Wire, rom_of
from rigfw.drivers import romsearch
from rigfw.drivers.romsearch import MOST_DEVICES, Search, roms_on


def test_all_devices_are_found_whatever_their_numbers():
    """One, two that differ in one bit, and nine."""
    for numbers in ([5], [4, 5], [1, 2, 3, 4, 255, 256, 257, 1024, 65535]):
        roms = sorted([rom_of(number) for number in numbers])
        assert roms_on(Wire([Chip(rom) for rom in roms])) == roms


def test_an_empty_bus_has_nothing():
    """Nothing answers: an empty list at once."""
    wire = Wire([])
    assert roms_on(wire) == []
    assert wire.written == []


def test_a_shorted_bus_has_nothing():
    """All zeros have a good check sum and are no device."""
    wire = Wire([Chip(rom_of(1))])
    wire.is_short = True
    assert roms_on(wire) == []


def test_a_garbled_rom_is_not_taken():
    """A ROM whose last byte is not its check sum."""
    rom = bytearray(rom_of(1))
    rom[7] ^= 1
    assert roms_on(Wire([Chip(bytes(rom))])) == []


def test_more_devices_than_a_rig_has_do_not_hang_the_boot():
    """Twenty on the bus: the search ends after its bound."""
    found = roms_on(Wire([Chip(rom_of(number)) for number in range(20)]))
    assert len(found) == MOST_DEVICES


def test_one_device_a_call_then_round_again():
    """Three devices: three calls a round, in the same order each time."""
    search = Search(Wire([Chip(rom_of(number)) for number in (1, 2, 3)]))
    first = [search.step() for _ in range(3)]
    assert search.is_round_over
    assert [search.step() for _ in range(3)] == first
    assert set(first) == {rom_of(1), rom_of(2), rom_of(3)}


def test_a_device_that_leaves_in_the_middle_begins_a_new_round():
    """Two answered; one is gone: the search gives None once and then the one that is left."""
    wire = Wire([Chip(rom_of(1)), Chip(rom_of(2))])
    search = Search(wire)
    search.step()
    wire.chips = wire.chips[:1] if search._rom[1] == 2 else wire.chips[1:]
    left = wire.chips[0].rom
    found = [search.step() for _ in range(3)]
    assert found[-1] == left


def test_a_bus_that_goes_silent_ends_the_round():
    """One of two was found, then nothing answers: the round is over."""
    wire = Wire([Chip(rom_of(1)), Chip(rom_of(2))])
    search = Search(wire)
    search.step()
    assert not search.is_round_over
    wire.chips = []
    assert search.step() is None
    assert search.is_round_over


class _Bits:
    """A bus that answers each place of the search with what the test says."""

    def __init__(self, answers):
        self._answers = answers

    def reset(self):
        """Somebody is there."""
        self._bits = [bit for pair in self._answers for bit in pair]
        return True

    def writebyte(self, _byte):
        """The command."""

    def readbit(self):
        """The next; nobody answers after the last."""
        return self._bits.pop(0) if self._bits else 1

    def writebit(self, _bit):
        """The choice."""


def test_devices_that_differ_in_their_first_bit_are_both_found():
    """One of another family: the fork is at place 0."""
    roms = sorted([rom_of(7), rom_of(7, family=0x01)])
    assert roms_on(Wire([Chip(rom) for rom in roms])) == roms


def test_a_device_that_falls_silent_after_a_fork_ends_the_round():
    """Nobody answers at place 1: the next search begins anew."""
    search = Search(_Bits([(0, 0)]))
    assert search.step() is None
    assert search.is_round_over


def test_a_device_that_is_found_twice_is_one():
    """A round that comes by the same device again."""

    class Twice:
        is_round_over = False

        def __init__(self, _wire):
            self._left = 3

        def step(self):
            self._left -= 1
            self.is_round_over = not self._left
            return rom_of(5)

    kept, romsearch.Search = romsearch.Search, Twice
    try:
        assert roms_on(None) == [rom_of(5)]
    finally:
        romsearch.Search = kept
