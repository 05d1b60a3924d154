"""Turns of the stirrer from pulses of a magnet or a slotted disc.

The speed is that between the first and the last pulse of a span, so a slow stirrer with one or
two pulses a turn reads as finely as a fast one.
"""

COUNT_MASK = 0x3FFFFFFF
SPAN_MS = 900
STILL_MS = 3000
"""Own choice: a stalled stirrer must be known within 3 s, or the plate gets ahead of the bowl."""
UNKNOWN = -1


class Tachometer:
    """`rpm` is UNKNOWN until something is known, 0 when no pulse came for 3 s.

    `pulse` is called for each pulse, from a pin's interrupt, and allocates nothing; or `sample`
    with the pin's level, every 20 ms or so. Pulses nearer than half of those at `most_rpm` are a
    contact's bounce. The slowest speed is 20 rpm, divided by `pulses_per_turn`. `step` once a
    pass; it takes no time worth counting.
    """

    def __init__(self, clock, pulses_per_turn, most_rpm=300):
        self._clock = clock
        self._per_turn = pulses_per_turn
        self._least_ms = 30000 // (pulses_per_turn * most_rpm)
        self._count = 0
        self._at_ms = clock.now_ms()
        self._from_count = 0
        self._from_ms = 0
        self._is_turning = False
        self._level = 0
        self.rpm = UNKNOWN

    def pulse(self, _pin=None):
        """One pulse, now."""
        now_ms = self._clock.now_ms()
        # Negative: so long ago that the clock has come round. That is no bounce.
        if 0 <= self._clock.diff(now_ms, self._at_ms) < self._least_ms:
            return
        self._at_ms = now_ms
        self._count = (self._count + 1) & COUNT_MASK

    def sample(self, level):
        """The pin's level; a rise is a pulse."""
        if level and not self._level:
            self.pulse()
        self._level = level

    def step(self, now_ms):
        """Judge what came since the last pass."""
        count, at_ms = self._together()
        if self._clock.diff(now_ms, at_ms) >= STILL_MS:
            self.rpm = 0
            self._is_turning = False
        elif count != self._from_count:
            self._measure(count, at_ms)

    def _together(self):
        """Count and time of the same pulse, though an interrupt may come between."""
        for _ in range(3):
            count, at_ms = self._count, self._at_ms
            if count == self._count:
                break
        return count, at_ms

    def _measure(self, count, at_ms):
        span_ms = self._clock.diff(at_ms, self._from_ms)
        if not self._is_turning:
            self._is_turning = True
        elif span_ms < SPAN_MS:
            return
        else:
            pulses = (count - self._from_count) & COUNT_MASK
            turn_ms = self._per_turn * span_ms
            self.rpm = (60000 * pulses + turn_ms // 2) // turn_ms
        self._from_count = count
        self._from_ms = at_ms
