"""A MAX31865 made of registers, with ways to fail. It is its own SPI bus and select pin."""


class PtChip:
    """The converter: eight registers, a resistance, and ways to fail."""

    def __init__(self, ohm, reference_ohm=430):
        self.ohm = ohm
        self.reference_ohm = reference_ohm
        self.registers = bytearray([0, 0, 0, 0xFF, 0xFF, 0, 0, 0])
        self.fault_bits = 0
        self.is_there = True
        self.idle = 0xFF
        self.is_selected = False
        self.orders = []
        self._bytes = []

    def value(self, level):
        """The select pin: an order ends when it goes high."""
        if level and self.is_selected and self._bytes and self.is_there:
            self._obey(self._bytes)
        self.is_selected = not level
        self._bytes = []

    def write(self, buffer):
        """Bytes from the board."""
        assert self.is_selected
        self._bytes += list(buffer)

    def readinto(self, buffer):
        """Registers from the address written before."""
        for at in range(len(buffer)):
            buffer[at] = self.registers[self._bytes[0] + at] if self.is_there else self.idle

    def _obey(self, order):
        if not order[0] & 0x80:
            return
        self.orders.append(order)
        for at, value in enumerate(order[1:]):
            self.registers[(order[0] & 0x7F) + at] = value
        if order[0] != 0x80:
            return
        if order[1] & 0x02:
            self.registers[7] = 0
        if order[1] & 0x0C and order[1] & 0x80:
            self.registers[7] |= self.fault_bits
        if order[1] & 0x20 and order[1] & 0x80:
            self._measure()
        self.registers[0] = order[1] & ~0x2E

    def _measure(self):
        code = min(32767, round(self.ohm / self.reference_ohm * 32768))
        high = (self.registers[3] << 8 | self.registers[4]) >> 1
        low = (self.registers[5] << 8 | self.registers[6]) >> 1
        if code >= high:
            self.registers[7] |= 0x80
        if code <= low:
            self.registers[7] |= 0x40
        word = code << 1 | (1 if self.registers[7] else 0)
        self.registers[1], self.registers[2] = word >> 8, word & 0xFF
