"""Pt100 and Pt1000 probes by a MAX31865 converter on SPI (mode 1), one measurement a second.

Each second the chip gets its settings and limits anew, looks for broken wires, measures once, and
gives everything back: a chip that is not there, lost its power or was disturbed does not hold
what it was told. Registers from memory of the data sheet. Between measurements the probe carries
no current, so that it does not warm itself.
"""

from math import sqrt

from rigfw.drivers import probe as probes

# IEC 60751: R = R0 (1 + A t + B t^2) from 0 degC up.
A = 3.9083e-3
B = -5.775e-7

CODES = 32768
CONVERT_MS = 70
"""66 ms at most with the 50 Hz filter (data sheet, from memory)."""

BIAS = 0x80
ONE_SHOT = 0x20
THREE_WIRES = 0x10
LOOK_FOR_FAULTS = 0x04
CLEAR_FAULTS = 0x02
FILTER_50_HZ = 0x01
WRITE = 0x80
LIMITS_AT = 0x03
REGISTERS = 8

# Fault bits: above the high limit; FORCE- open as seen at REFIN- and at RTDIN-.
OPEN_BITS = 0x80 | 0x10 | 0x08
# Below the low limit. The others, 0x20 and 0x04, are wiring and voltages at the chip itself.
SHORT_BIT = 0x40
LOW_RATIO = 0.92  # -20 degC
HIGH_RATIO = 1.5  # 130 degC
LOW_MC = -10000
HIGH_MC = 120000


def celsius(ratio):
    """Degrees of R/R0, the inverse of Callendar and Van Dusen.

    Exact from 0 degC up; 0.2 mK off at -10 and 1.1 mK at -20 degC (calculated), where the norm has
    a further term. Written without the difference of two nearly equal numbers: floats here have
    24 bits.
    """
    return 2 * (ratio - 1) / (A + sqrt(A * A + 4 * B * (ratio - 1)))


class Platinum:
    """One probe on one chip. `step` once a pass; True in the pass that has a new value.

    `spi` with `write(buffer)` and `readinto(buffer)`, `select` a pin that is low for this chip,
    `ohm_0` 100 or 1000, `reference_ohm` the chip's reference resistor, `wires` 2, 3 or 4,
    `mains_hz` 50 or 60 is filtered out. `fault_bits` is the chip's own account of the last
    measurement. Longest pass under 1 ms (estimated: 16 bytes at 1 MHz, and the root).
    """

    def __init__(self, spi, select, probe, clock, ohm_0, reference_ohm, wires, mains_hz):
        self._spi = spi
        self._select = select
        self._probe = probe
        self._clock = clock
        self._code_ratio = reference_ohm / (CODES * ohm_0)
        self._settings = BIAS | (THREE_WIRES if wires == 3 else 0)
        self._settings |= FILTER_50_HZ if mains_hz == 50 else 0
        self._limits = self._limit_bytes(reference_ohm / ohm_0)
        self._order = bytearray(2)
        self._registers = bytearray(REGISTERS)
        self._phase = 0
        self._began_ms = self._really_began_ms = 0
        self.fault_bits = 0
        select.value(1)

    def _limit_bytes(self, reference_ratio):
        """High and low limit as the registers have them: a code, shifted by one bit."""
        high = int(HIGH_RATIO / reference_ratio * CODES) << 1
        low = int(LOW_RATIO / reference_ratio * CODES) << 1
        high = min(high, 0xFFFE)
        return bytes([high >> 8, high & 0xFF, low >> 8, low & 0xFF])

    def step(self, now_ms):
        """Current on; look for broken wires; measure; read. One of them a pass."""
        if self._phase == 0:
            self._write_limits()
            self._write_settings(CLEAR_FAULTS)
        elif self._phase == 1:
            self._write_settings(LOOK_FOR_FAULTS)
        elif self._phase == 2:
            self._began_ms = now_ms
            self._really_began_ms = self._clock.now_ms()
            self._write_settings(ONE_SHOT)
        elif self._clock.diff(self._clock.now_ms(), self._really_began_ms) < CONVERT_MS:
            return False  # this pass came early after a late one
        else:
            self._read()
        self._phase = (self._phase + 1) & 3
        return self._phase == 0

    def _write_limits(self):
        self._select.value(0)
        self._order[0] = WRITE | LIMITS_AT
        self._spi.write(self._order[:1])
        self._spi.write(self._limits)
        self._select.value(1)

    def _write_settings(self, more):
        self._write_config(self._settings | more)

    def _write_config(self, value):
        self._order[0] = WRITE
        self._order[1] = value
        self._select.value(0)
        self._spi.write(self._order)
        self._select.value(1)

    def _read(self):
        self._order[0] = 0
        self._select.value(0)
        self._spi.write(self._order[:1])
        self._spi.readinto(self._registers)
        self._select.value(1)
        self._write_config(self._settings & ~BIAS)
        why = self._refusal()
        read_mc = 0 if why else self._value_mc()
        if not why and not LOW_MC <= read_mc <= HIGH_MC:
            why = probes.OUT_OF_RANGE
        if why:
            self._probe.miss(why, self._began_ms)
        else:
            self._probe.take(read_mc, self._began_ms)

    def _refusal(self):
        registers = self._registers
        # Measuring is over when its bit is 0 again; a chip that keeps it is judged by the rest.
        if registers[0] & ~ONE_SHOT != self._settings or registers[3:7] != self._limits:
            self.fault_bits = 0
            return probes.CHIP_SETTINGS
        self.fault_bits = registers[7]
        if self.fault_bits & OPEN_BITS:
            return probes.OPEN
        if self.fault_bits & SHORT_BIT:
            return probes.SHORT
        return probes.CHIP_FAULT if self.fault_bits or registers[2] & 1 else probes.FINE

    def _value_mc(self):
        code = (self._registers[1] << 8 | self._registers[2]) >> 1
        return round(celsius(code * self._code_ratio) * 1000)
