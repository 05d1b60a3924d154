"""Heat through a relay: few pulses, each as long as it must be, one in a cycle.

The mixed temperature then is a saw: a pulse lifts it, the loss takes it down again. A pulse begins
when what is missing is most of what the shortest pulse gives, so that the top of the saw is little
above the target. Temperatures in K of the whole heat capacity, times s, in here.
"""

CYCLE_S = 60.0  # own choice: 1e5 operations last 1,700 h (a usual figure, from memory)
BELOW_PART = 0.6  # own choice: so much of the shortest pulse lies below the target,
COOL_BELOW_PART = 0.35  # in a cool step, where the other side does harm, only this
MELT_OVER_PART = 0.5  # own choice: a melt lands with half a pulse over, for it may
PEAK_PART = 0.95  # of a shortest pulse is in the plate at once, the rest has gone on; assumption


class Relay:
    """`is_on` for the next second."""

    def __init__(self, min_on_s, min_off_s):
        self._min_on_s = min_on_s
        self._min_off_s = min_off_s
        self._on_s = 0.0
        self._off_s = CYCLE_S
        self._until_c = 0.0
        self.is_on = False

    def decide(self, missing_c, gain, room_c, kind, passed_s):
        """`missing_c` is to come yet, `gain` the heater's K/s, `room_c` what the plate may still
        take before it is at its limit."""
        pulse_c = gain * self._min_on_s
        below_part = COOL_BELOW_PART if kind == "cool" else BELOW_PART
        if self.is_on:
            self._on_s += passed_s
            is_enough = missing_c < self._until_c or room_c < 0.0
            if self._on_s >= self._min_on_s and is_enough:
                self._turn(False)
            return
        self._off_s += passed_s
        may = self._off_s >= self._min_off_s and self._on_s + self._off_s >= CYCLE_S
        if may and missing_c > below_part * pulse_c and room_c > PEAK_PART * pulse_c:
            is_travel = missing_c > 2.0 * pulse_c
            over_part = MELT_OVER_PART if kind == "melt" else 0.0
            self._until_c = -pulse_c * (over_part if is_travel else 0.0)
            self._turn(True)

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
