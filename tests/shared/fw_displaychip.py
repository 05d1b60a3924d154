"""The display's chip as its memory: what a person would see."""


class DisplayChip:
    """An SSD1306: commands, a place, a memory. `is_there` False answers nothing."""

    def __init__(self):
        self.memory = bytearray([0xAA] * 1024)
        self.is_there = True
        self.is_on = False
        self.writes = 0
        self._at = 0

    def writeto(self, address, data):
        """One transfer."""
        self.writes += 1
        if not self.is_there or address != 0x3C:
            raise OSError(5)
        assert len(data) <= 129
        if data[0] == 0x40:
            for byte in data[1:]:
                self.memory[self._at] = byte
                self._at += 1
            return
        assert data[0] == 0x00
        if data[1] == 0x21:
            assert bytes(data[:5]) == b"\x00\x21\x00\x7f\x22" and data[5] == data[6]
            self._at = 128 * data[5]
        elif 0xAF in data:
            self.is_on = True
