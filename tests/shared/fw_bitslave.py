"""The chips of fw_onewire behind a 1-wire line of edges and microseconds, and a master for it.

`BitSlave` is told every edge that the master makes and says from when to when it holds the line
low; so it can sit on a simulated pin. `BitMaster` makes the slots of the data sheet and has the
face of MicroPython's OneWire, so that drivers run over it here. Times are in microseconds.
"""

RESET_LEAST_US = 480
PRESENCE_FROM_US, PRESENCE_FOR_US = 30, 120
ONE_MOST_US = 20  # a write slot that was low for less than this is a 1
HOLD_ZERO_US = 45  # a 0 in a read slot is held so long from its falling edge

_COMMAND, _MATCH, _FUNCTION, _WRITING, _READING, _SEARCH, _IDLE = range(7)


class BitSlave:
    """All chips of a fw_onewire.Wire on one line. `low` is (from_us, to_us) or None.

    Call `fall(at_us)` and `rise(at_us)` for the master's edges, in order.
    """

    def __init__(self, wire):
        self.wire = wire
        self.low = None
        self._fell_us = 0
        self._mode = _IDLE
        self._bits = []
        self._out = []
        self._third = self._walked = 0
        self._read_slot = False

    def fall(self, at_us):
        """The master pulls low: a slot begins, and in a read slot a 0 is held at once."""
        self._fell_us = at_us
        if self._is_reading():
            bit = self._next_bit()
            self.low = None if bit else (at_us, at_us + HOLD_ZERO_US)

    def rise(self, at_us):
        """The master lets go: a reset, or a bit written."""
        span_us = at_us - self._fell_us
        if span_us >= RESET_LEAST_US:
            self._reset(at_us)
        elif not self._was_reading():
            self._take(1 if span_us < ONE_MOST_US else 0)

    def is_low(self, at_us):
        """True while a chip holds the line."""
        return self.low is not None and self.low[0] <= at_us < self.low[1]

    def _reset(self, at_us):
        self._mode, self._bits, self._out, self._third = _COMMAND, [], [], 0
        self._read_slot = False
        from_us = at_us + PRESENCE_FROM_US
        self.low = (from_us, from_us + PRESENCE_FOR_US) if self.wire.reset() else None

    def _is_reading(self):
        if self._mode == _SEARCH:
            self._read_slot = self._third < 2
        else:
            self._read_slot = self._mode == _READING
        return self._read_slot

    def _was_reading(self):
        return self._mode == _IDLE or self._read_slot

    def _next_bit(self):
        if self._mode == _SEARCH:
            self._third += 1
            return self.wire.readbit()
        if self._out:
            return self._out.pop(0)
        return self.wire.readbit()  # busy, or nothing to say

    def _take(self, bit):
        if self._mode == _SEARCH:
            self.wire.writebit(bit)
            self._third = 0
            self._walked += 1
            if self._walked == 64:  # one chip is left, and listens
                self._mode = _FUNCTION
            return
        self._bits.append(bit)
        if len(self._bits) < 8:
            return
        value = sum([one << at for at, one in enumerate(self._bits)])
        self._bits = []
        self._byte(value)

    def _byte(self, value):
        if self._mode == _COMMAND:
            self._rom_command(value)
        elif self._mode == _MATCH:
            self._rom.append(value)
            if len(self._rom) == 8:
                self.wire.select_rom(bytes(self._rom))
                self._mode = _FUNCTION
        else:
            self.wire.writebyte(value)
            if value == 0xBE and self._mode == _FUNCTION:
                self._send_pad()
            elif value == 0x44 and self._mode == _FUNCTION:
                self._mode = _READING
            else:
                self._mode = _WRITING

    def _rom_command(self, value):
        if value == 0x55:
            self._mode, self._rom = _MATCH, []
        elif value == 0xF0:
            self.wire.writebyte(value)
            self._mode, self._walked = _SEARCH, 0
        else:
            self.wire.writebyte(value)
            self._mode = _FUNCTION

    def _send_pad(self):
        pad = bytearray(9)
        self.wire.readinto(pad)
        self._out = [byte >> at & 1 for byte in pad for at in range(8)]
        self._mode = _READING


class BitMaster:
    """The face of MicroPython's OneWire over a BitSlave: slots with the data sheet's times."""

    def __init__(self, slave):
        self.slave = slave
        self.now_us = 0

    def reset(self):
        """480 us low; the presence is looked for 70 us after."""
        self._low_for(500)
        self.now_us += 70
        found = self.slave.is_low(self.now_us) or self.slave.wire.is_short
        self.now_us += 410
        return found

    def readbit(self):
        """6 us low; the line is looked at 9 us after."""
        self._low_for(6)
        self.now_us += 9
        bit = 0 if self.slave.is_low(self.now_us) or self.slave.wire.is_short else 1
        self.now_us += 55
        return bit

    def writebit(self, value):
        """6 us low for a 1, 60 us for a 0."""
        self._low_for(6 if value else 60)
        self.now_us += 64 if value else 10

    def writebyte(self, value):
        """Eight bits, the lowest first."""
        for at in range(8):
            self.writebit(value >> at & 1)

    def readinto(self, buffer):
        """So many bytes, the lowest bit first."""
        for place in range(len(buffer)):
            value = 0
            for at in range(8):
                value |= self.readbit() << at
            buffer[place] = value

    def select_rom(self, rom):
        """Speak to one chip."""
        self.reset()
        self.writebyte(0x55)
        for value in rom:
            self.writebyte(value)

    def _low_for(self, span_us):
        self.slave.fall(self.now_us)
        self.now_us += span_us
        self.slave.rise(self.now_us)
