"""Which devices are on a 1-wire bus, one for each call: the search of the bus's own protocol.

Every device answers each bit of its ROM and then the bit's opposite; what is sent back silences
those that differ (algorithm of application note 187, from memory).
"""

from rigfw.drivers.onewire_crc import crc8

SEARCH_ROM = 0xF0
ROM_BITS = 64
MOST_DEVICES = 16
"""More than a rig has; it bounds the search at boot."""


class Search:
    """`step` finds the next device. `is_round_over` after the last one, or when nothing answered.

    One call takes about 22 ms (calculated: 192 slots of 70 us and the interpreter between them).
    """

    def __init__(self, wire):
        self._wire = wire
        self._rom = bytearray(8)
        self._fork = -1
        self.is_round_over = True

    def step(self):
        """Eight bytes, or None when nothing answers or an answer is garbled."""
        is_read = self._walk()
        if not is_read:
            self._fork = -1
        self.is_round_over = self._fork < 0
        # A shorted bus answers all zeros, whose check sum is good.
        if not is_read or not self._rom[0] or crc8(self._rom, 7) != self._rom[7]:
            return None
        return bytes(self._rom)

    def _walk(self):
        """Follow one way through all 64 bits. False when nobody is left."""
        if not self._wire.reset():
            return False
        self._wire.writebyte(SEARCH_ROM)
        last_zero = -1
        for at in range(ROM_BITS):
            bit, opposite = self._wire.readbit(), self._wire.readbit()
            if bit and opposite:
                return False
            if not bit and not opposite:
                bit = self._turn(at)
                if not bit:
                    last_zero = at
            self._set(at, bit)
            self._wire.writebit(bit)
        self._fork = last_zero
        return True

    def _turn(self, at):
        """Where devices differ: as last time, but the other way at the last fork."""
        if at == self._fork:
            return 1
        return self._rom[at >> 3] >> (at & 7) & 1 if at < self._fork else 0

    def _set(self, at, bit):
        mask = 1 << (at & 7)
        self._rom[at >> 3] = self._rom[at >> 3] & ~mask | (mask if bit else 0)


def roms_on(wire):
    """All devices of the bus, sorted. Blocks for about 22 ms each: for boot only."""
    search = Search(wire)
    found = []
    for _ in range(MOST_DEVICES):
        rom = search.step()
        if rom and rom not in found:
            found.append(rom)
        if search.is_round_over:
            break
    return sorted(found)
