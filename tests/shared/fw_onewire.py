"""A 1-wire bus made of bits, with DS18B20 chips that can lie. Runs on both interpreters."""

from rigfw.drivers.onewire_crc import crc8


def hex_bytes(text):
    """Bytes of "50 05 4B"."""
    return bytes([int(part, 16) for part in text.split()])


def rom_of(number, family=0x28):
    """A ROM of this number with its check sum."""
    body = bytes([family, number & 0xFF, number >> 8, 0x1A, 0x2B, 0, 0])
    return body + bytes([crc8(body, 7)])


def pad_of(raw, config=0x7F, high=0x4B, low=0x46, five=0xFF, seven=0x10):
    """Nine scratchpad bytes with a good check sum."""
    body = bytes([raw & 0xFF, raw >> 8 & 0xFF, high, low, config, five, 0x0C, seven])
    return body + bytes([crc8(body, 8)])


class Chip:
    """One DS18B20. `raw` is what a conversion finds, `start_raw` what it shows after power-up."""

    def __init__(self, rom, raw=0x01F0, start_raw=0x0550):
        self.rom = rom
        self.raw = raw
        self.start_raw = start_raw
        self.is_there = True
        self.busy_reads = 0
        self.can_convert = True
        self.is_deaf = False
        self.bad_bits = ()  # (byte, mask) turned on the wire
        self.five, self.seven, self.config_written = 0xFF, 0x10, None
        self.power_up()

    def power_up(self):
        """What the chip keeps without power: nothing but its EEPROM."""
        self.shown = self.start_raw
        self.high, self.low, self.config = 0x4B, 0x46, 0x7F

    def convert(self):
        """The measurement becomes what the scratchpad shows."""
        if self.can_convert:
            self.shown = self.raw

    def pad(self):
        """The scratchpad as it comes over the wire."""
        config = self.config_written or self.config
        pad = bytearray(pad_of(self.shown, config, self.high, self.low, self.five, self.seven))
        for at, mask in self.bad_bits:
            pad[at] ^= mask
        return pad


class Wire:
    """The bus's interface on chips. `is_short` holds it low."""

    def __init__(self, chips):
        self.chips = chips
        self.is_short = False
        self.written = []
        self._selected = []
        self._values = []
        self._at = self._half = 0
        self._is_searching = False

    def reset(self):
        """True when something answers; a shorted bus seems to."""
        self._selected = [chip for chip in self.chips if chip.is_there]
        self._values = []
        self._is_searching = False
        return self.is_short or bool(self._selected)

    def select_rom(self, rom):
        """Only the chip of this ROM listens."""
        self.reset()
        self._selected = [chip for chip in self._selected if chip.rom == rom]

    def writebyte(self, value):
        """A command, or a value of the command before."""
        self.written.append(value)
        if value == 0xF0 and not self._values:
            self._is_searching, self._at, self._half = True, 0, 0
        if value == 0xCC and not self._values:
            return
        self._values.append(value)
        if self._values[0] == 0x44:
            for chip in self._selected:
                chip.convert()
        if self._values[0] == 0x4E and len(self._values) == 4:
            for chip in self._selected:
                if not chip.is_deaf:
                    chip.high, chip.low, chip.config = self._values[1:]

    def _bit_of(self, chip):
        return chip.rom[self._at >> 3] >> (self._at & 7) & 1

    def readbit(self):
        """A bit of a search, else whether all are ready."""
        if self.is_short:
            return 0
        if not self._is_searching:
            busy = [chip for chip in self._selected if chip.busy_reads]
            for chip in busy:
                chip.busy_reads -= 1
            return 0 if busy else 1
        bits = [self._bit_of(chip) ^ self._half for chip in self._selected]
        self._half ^= 1
        return min(bits) if bits else 1

    def writebit(self, value):
        """Those of the other bit are silent until the next reset."""
        if not self.is_short:
            self._selected = [chip for chip in self._selected if self._bit_of(chip) == value]
        self._at += 1

    def readinto(self, buffer):
        """The scratchpad; two that answer at once are and-ed, none gives ones."""
        for at in range(len(buffer)):
            buffer[at] = 0 if self.is_short else 0xFF
            for chip in self._selected:
                buffer[at] &= chip.pad()[at]
