"""DS18B20 probes on one 1-wire bus. Never waits: a conversion is begun and fetched passes later.

The bus is given: `reset()` True when something answers, `writebyte(value)`, `readinto(buffer)`,
`select_rom(rom)`. What a bus can lie is refused: wrong check sum, all zeros (a shorted bus reads
0.0 degC with a good check sum), all ones, a resolution other than 12 bits, and 85.0, the value
before a first conversion. The first good value after any gap is not used: it may be an old one.
Data sheet figures from memory: 12 bits in 750 ms at most, 1/16 K a bit.
"""

from rigwire.messages import MISSING_MC

CONVERT_MS = 745
"""Less than 750 only because a pass is stamped to the ms; three passes are 750 ms."""
POWER_UP_RAW = 0x0550
CONFIG_12_BIT = 0x7F
SKIP_ROM = 0xCC
CONVERT = 0x44
READ_SCRATCHPAD = 0xBE


def crc8(data, count):
    """The 1-wire check sum (x^8 + x^5 + x^4 + 1, reflected) of the first bytes of data."""
    crc = 0
    for at in range(count):
        crc ^= data[at]
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc


def value_mc(scratchpad):
    """Milli-degrees in nine scratchpad bytes, MISSING_MC where they cannot be believed."""
    different = 0
    for byte in scratchpad:
        different |= byte
    if not different or crc8(scratchpad, 8) != scratchpad[8]:
        return MISSING_MC
    if scratchpad[4] != CONFIG_12_BIT:
        return MISSING_MC
    raw = scratchpad[0] | scratchpad[1] << 8
    if raw == POWER_UP_RAW:
        return MISSING_MC
    if raw & 0x8000:
        raw -= 0x10000
    return raw * 125 // 2


class Probe:
    """One probe by its eight ROM bytes. `value_mc` is the last believed value of a conversion."""

    def __init__(self, rom):
        self.rom = rom
        self.value_mc = MISSING_MC
        self._is_known = False

    def take(self, read_mc):
        """A value read now; the first good one after a gap only ends the gap."""
        if read_mc == MISSING_MC:
            self.value_mc = MISSING_MC
            self._is_known = False
        elif not self._is_known:
            self._is_known = True
            self.value_mc = MISSING_MC
        else:
            self.value_mc = read_mc


class Bus:
    """All probes of one bus. `step` once a pass; True in the pass that has new values.

    `at_ms` is when the conversion of the present values began. A pass that reads takes about
    13 ms a probe (calculated: 20 bytes of 8 slots of 80 us), the others under 2 ms.
    """

    def __init__(self, wire, probes, clock):
        self._wire = wire
        self._probes = probes
        self._clock = clock
        self._scratchpad = bytearray(9)
        self._is_converting = False
        self._began_ms = 0
        self.at_ms = 0

    def step(self, now_ms):
        """Begin a conversion, or read all probes once it is done."""
        if not self._is_converting:
            self._begin(now_ms)
            return False
        if self._clock.diff(now_ms, self._began_ms) < CONVERT_MS:
            return False
        for probe in self._probes:
            self._read(probe)
        self.at_ms = self._began_ms
        self._is_converting = False
        return True

    def _begin(self, now_ms):
        self._began_ms = now_ms
        self._is_converting = True
        if self._wire.reset():
            self._wire.writebyte(SKIP_ROM)
            self._wire.writebyte(CONVERT)

    def _read(self, probe):
        probe.take(self._fetch(probe.rom) if self._wire.reset() else MISSING_MC)

    def _fetch(self, rom):
        self._wire.select_rom(rom)
        self._wire.writebyte(READ_SCRATCHPAD)
        self._wire.readinto(self._scratchpad)
        return value_mc(self._scratchpad)
