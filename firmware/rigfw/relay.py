"""Heat through a relay: few pulses, each as long as it must be.

On the way to a target it is on for as long as the plate bears it. There, one pulse in a cycle: the
mixed temperature is a saw then, a pulse lifts it, the loss takes it down again, and each pulse is
as long as puts the saw's middle on its place. Temperatures in K of the whole heat capacity, times
s, in here.
"""

from rigfw.folded import const

CYCLE_S = 60.0  # own choice: 1e5 operations last 1,700 h (a usual figure, from memory)
_TRAVEL_PULSES = const(2.0)  # own choice: further off its place than this it is still on the way
_PEAK_PART = const(0.5)  # of a shortest pulse is in the plate at once, the rest has gone on


class Relay:
    """`is_on` for the next second."""

    def __init__(self, min_on_s, min_off_s):
        self._min_on_s = min_on_s
        self._min_off_s = min_off_s
        self._on_s = 0.0
        self._off_s = CYCLE_S
        self._pulse_s = 0.0
        self._travels = False
        self.is_on = False

    def decide(self, missing_c, gain, lost, room_c, passed_s):
        """`missing_c` is to come yet, `gain` the heater's K/s, `lost` what leaves, K/s, `room_c`
        what the plate may still take before it is at its limit."""
        if self.is_on:
            self._on_s += passed_s
            so_long = self._on_s + 0.5 * passed_s >= self._pulse_s  # to the nearest second
            is_there = missing_c <= 0.0 if self._travels else so_long
            is_enough = is_there or room_c < 0.0
            if self._on_s >= self._min_on_s and is_enough:
                self._turn(False)
            return
        self._off_s += passed_s
        least_c = gain * self._min_on_s
        if self._off_s < self._min_off_s or room_c < _PEAK_PART * least_c:
            return
        self._travels = missing_c > _TRAVEL_PULSES * least_c
        if not self._travels:
            self._pulse_s = self._middle_s(missing_c, gain, lost)
            if self._pulse_s < self._min_on_s or self._on_s + self._off_s < CYCLE_S:
                return
        self._turn(True)

    def _middle_s(self, missing_c, gain, lost):
        """How long a pulse puts the middle of the saw on its place."""
        duty = max(0.0, min(1.0, lost / gain))  # it is lost during the pulse, too
        return (missing_c + 0.5 * (1.0 + duty) * self.swing_c(gain, lost)) / gain

    def swing_c(self, gain, lost):
        """From the lowest to the highest of the saw."""
        return max(CYCLE_S * max(lost, 0.0), gain * self._min_on_s)

    def rest(self):
        """Off now."""
        if self.is_on:
            self._turn(False)

    def _turn(self, is_on):
        self.is_on = is_on
        if is_on:
            self._on_s = 0.0
        else:
            self._off_s = 0.0
