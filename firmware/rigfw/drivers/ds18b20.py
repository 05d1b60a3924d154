"""DS18B20 probes on one 1-wire bus, fed by three wires. Never waits for a conversion.

The bus is given: `reset()` True when something answers, `writebyte(value)`, `writebit(value)`,
`readbit()`, `readinto(buffer)`, `select_rom(rom)`. What a bus or a copied chip can lie is refused:

- nothing answers, or answers all ones, or all zeros (a shorted bus reads 0.0 degC with a good
  check sum);
- a wrong check sum, wrong fixed bytes, a resolution other than 12 bits;
- 85.0 degC, the value before a first conversion. Some copies start with 25.0 instead, which is
  also an honest reading. So every round writes a number of its own into the alarm bytes, which a
  chip forgets with its power: a value without that number is older than the round;
- a conversion that did not begin or did not end;
- the first good value after any gap: it may be an old one.

Data sheet figures from memory: 12 bits in 750 ms at most, 1/16 K a bit, alarm bytes in RAM.
"""

from rigfw.drivers import probe as probes
from rigfw.drivers.onewire_crc import crc8
from rigfw.drivers.romsearch import Search
from rigwire.messages import MISSING_MC

FAMILY = 0x28
CONVERT_MS = 745
"""Less than 750 only because a pass is stamped to the ms; three passes are 750 ms."""
PATIENCE_MS = 995
"""One pass more: a pass after a late one comes early. Longer is a fault."""
POWER_UP_RAW = 0x0550
CONFIG_12_BIT = 0x7F
FIXED_5 = 0xFF
FIXED_7 = 0x10
MARK = 0xA5
SKIP_ROM = 0xCC
CONVERT = 0x44
READ_SCRATCHPAD = 0xBE
WRITE_SCRATCHPAD = 0x4E


def refusal(scratchpad):
    """Why nine scratchpad bytes cannot be believed by themselves: a number of probe.WHY."""
    some, every = 0, 0xFF
    for byte in scratchpad:
        some |= byte
        every &= byte
    if not some:
        return probes.ALL_ZEROS
    if every == 0xFF:
        return probes.ALL_ONES
    if crc8(scratchpad, 8) != scratchpad[8]:
        return probes.CHECK_SUM
    return _no_measurement(scratchpad)


def _no_measurement(scratchpad):
    """Why nine bytes that came over well are no measurement."""
    # Byte 6 is fixed in the data sheet, too, but genuine parts change it with the reading.
    if scratchpad[5] != FIXED_5 or scratchpad[7] != FIXED_7:
        return probes.RESERVED
    if scratchpad[4] != CONFIG_12_BIT:
        return probes.RESOLUTION
    if scratchpad[0] | scratchpad[1] << 8 == POWER_UP_RAW:
        return probes.START_UP
    return probes.FINE


def value_mc(scratchpad):
    """Milli-degrees in nine scratchpad bytes, MISSING_MC where they cannot be believed."""
    if refusal(scratchpad):
        return MISSING_MC
    raw = scratchpad[0] | scratchpad[1] << 8
    if raw & 0x8000:
        raw -= 0x10000
    return raw * 125 // 2


class Probe(probes.Probe):
    """One probe by its eight ROM bytes. The first good value after a gap only ends the gap."""

    def __init__(self, rom, offset_mk=0, slope_e5=0):
        super().__init__(offset_mk, slope_e5)
        self.rom = rom
        self._is_known = False

    def take(self, read_mc, at_ms):
        """A good value."""
        if self._is_known:
            super().take(read_mc, at_ms)
        else:
            super().miss(probes.FIRST_VALUE, at_ms)
        self._is_known = True

    def miss(self, why, at_ms):
        """None: a gap begins or goes on."""
        super().miss(why, at_ms)
        self._is_known = False


class Bus:
    """All probes of one bus. `step` once a pass; True in the pass that has new values.

    `unlisted` is the ROM of a device that no probe of the list has, once one was seen. Longest
    pass (calculated, 8 slots of 70 us a byte): beginning 28 ms, of which 22 look for one device;
    reading 13 ms a probe; the others nothing.
    """

    def __init__(self, wire, probe_list, clock):
        self._wire = wire
        self._probes = probe_list
        self._clock = clock
        self._search = Search(wire)
        self._scratchpad = bytearray(9)
        self._is_converting = False
        self._is_begun = False
        self._began_ms = 0
        self._round = 0
        self.unlisted = None

    def step(self, now_ms):
        """Begin a conversion, or read all probes once it is done."""
        if not self._is_converting:
            self._look()
            self._begin(now_ms)
            return False
        if not self._is_time(self._clock.diff(now_ms, self._began_ms)):
            return False
        self._is_converting = False
        self._read_all()
        return True

    def _is_time(self, passed_ms):
        if passed_ms < CONVERT_MS:
            return False
        # The bus reads 0 for as long as one probe converts.
        return passed_ms >= PATIENCE_MS or not self._is_begun or self._wire.readbit()

    def _look(self):
        rom = self._search.step()
        if rom and rom not in [probe.rom for probe in self._probes]:
            self.unlisted = rom

    def _begin(self, now_ms):
        self._began_ms = now_ms
        self._is_converting = True
        self._round = (self._round + 1) & 0x7F
        self._order(WRITE_SCRATCHPAD, (self._round, MARK, CONFIG_12_BIT))
        self._is_begun = self._order(CONVERT, ())

    def _order(self, command, values):
        """One command to all probes at once. False when nothing answers."""
        if not self._wire.reset():
            return False
        self._wire.writebyte(SKIP_ROM)
        self._wire.writebyte(command)
        for value in values:
            self._wire.writebyte(value)
        return True

    def _read_all(self):
        if not self._is_begun:
            why = probes.NO_ANSWER
        else:
            why = probes.FINE if self._wire.readbit() else probes.NOT_DONE
        for probe in self._probes:
            one_why = why or self._fetch(probe.rom)
            if one_why:
                probe.miss(one_why, self._began_ms)
            else:
                probe.take(value_mc(self._scratchpad), self._began_ms)

    def _fetch(self, rom):
        """Read one scratchpad; why it is refused."""
        if not self._wire.reset():
            return probes.NO_ANSWER
        self._wire.select_rom(rom)
        self._wire.writebyte(READ_SCRATCHPAD)
        self._wire.readinto(self._scratchpad)
        why = refusal(self._scratchpad)
        if why:
            return why
        is_of_this_round = self._scratchpad[2] == self._round and self._scratchpad[3] == MARK
        return probes.FINE if is_of_this_round else probes.LOST_POWER
