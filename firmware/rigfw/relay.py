"""Heat through a relay: few pulses, each as long as it must be.

On the way to a target it is on for as long as the plate bears it. There, one pulse in a cycle: the
mixed temperature is a saw then, a pulse lifts it, the loss takes it down again, and each pulse is
as long as puts the saw's middle on its place. Where the shortest pulse is more than a cycle loses
and the chocolate would feel it, the fan takes the rest of the pulse out of the plate again, so
that the next comes sooner and the saw is lower. Temperatures in K of the whole heat capacity,
times s, in here.
"""

from math import exp, log, pi, sqrt

from rigfw.folded import const
from rigfw.model import FAN

CYCLE_S = 60.0  # own choice: 1e5 operations last 1,700 h (a usual figure, from memory)
_FAR_PULSES = const(0.25)  # own choice: so far under its saw nothing waits for the cycle's end
_FELT_C = const(0.05)  # own choice: by so much to either side the chocolate may follow the saw
_LOWERED_C = const(0.04)  # own choice: for less past the saw's end no fan
_BRAKE_SIGMAS = const(1.5)
_SAW_MARGIN = const(0.5)  # own choice: by then the saw has found its middle
_SAW_TOP = const(0.6)  # half of the saw is over its place, and a little
_FAN_PART = const(0.5)  # own choice: of a cycle the fan may be on, so that the saw stays one
_LEAST_DUTY = const(0.02)  # own choice: a bowl that loses less than this is no saw
_HOLD_PART = const(1.15)  # own choice: so much of what holds the chocolate is always given
_SHY_PART = const(0.2)  # own choice: of a shortest pulse the plate is kept under what it bears
_ALIKE = const(0.95)  # lags this close to one another are taken for so much apart


class Relay:
    """`is_on` for the next second; `swing_c` from the lowest to the highest of the saw, and
    `is_braked` 1 where the fan has to lower it: `plan` sets both."""

    def __init__(self, min_on_s, min_off_s):
        self._min_on_s = min_on_s
        self._min_off_s = min_off_s
        self._on_s = 0.0
        self._off_s = CYCLE_S
        self._pulse_s = 0.0
        self._travels = False
        self.swing_c = 0.0
        self.is_braked = 0
        self._is_held = False
        self.is_on = False

    def planned(self, estimator, lost, over_c, margin):
        """Plan, with as much of the fan as is surely there. The saw is no reason for a fan: so
        much of it goes over its place, once it has found its middle and little margin is left."""
        rates, self._is_held = estimator.rates, margin <= _SAW_MARGIN
        sure = 1.0 - _BRAKE_SIGMAS * sqrt(max(estimator.p[FAN][FAN], 0.0))
        self.plan(rates, lost, rates.fan * over_c * sure)
        return _SAW_TOP * self.swing_c if self._is_held else 0.0

    def plan(self, rates, lost, blown):
        """The saw where `lost` K/s leave by themselves and `blown` more by a full fan."""
        least_c = rates.gain * self._min_on_s
        lost = max(lost, _LEAST_DUTY * rates.gain)
        cycle_s = max(CYCLE_S, least_c / lost)
        self.is_braked, fanned_s = 0, 0.0
        if cycle_s > CYCLE_S and blown > 0.0 and felt_c(least_c, cycle_s, rates) > _FELT_C:
            self.is_braked = 1
            cycle_s = max(CYCLE_S, least_c / (lost + _FAN_PART * blown))
            fanned_s = max(0.0, least_c - lost * cycle_s) / (lost + blown)
        self.swing_c = lost * (cycle_s - fanned_s)

    def decide(self, missing_c, rates, lost, plate, passed_s):
        """`missing_c` is to come yet, `lost` what leaves, K/s. `plate`: what the plate has, what
        the element has, the most that the plate bears, what it may still take now, and what both
        have while the chocolate is held, 0 where that is not known."""
        hidden_c, held_c, most_c, room_c, hold_c = plate
        least_c = rates.gain * self._min_on_s
        pulse_c = _HOLD_PART * CYCLE_S * lost if hold_c > 0.0 else 0.0
        shy_c = _SHY_PART * least_c
        if self.is_on:
            self._on_s += passed_s
            is_hot = room_c < shy_c and self._on_s * rates.gain >= pulse_c
            if self._on_s >= self._min_on_s and (is_hot or self._is_done(missing_c, passed_s)):
                self._turn(False)
            return
        self._off_s += passed_s
        if self._off_s < self._min_off_s or not self._is_wanted(missing_c, rates.gain, lost):
            return
        is_cool = peak_c(hidden_c, held_c, least_c, rates, self._min_on_s) + shy_c < most_c
        if not is_cool and hold_c > 0.0:  # a rig that could not even hold would be refused
            lowest = lowest_c(max(least_c, pulse_c), _HOLD_PART * hold_c)
            is_cool = hidden_c + held_c < lowest
        if is_cool:
            self._turn(True)

    def _is_done(self, missing_c, passed_s):
        if self._travels:
            return missing_c <= 0.0
        return self._on_s + 0.5 * passed_s >= self._pulse_s  # to the nearest second

    def _is_wanted(self, missing_c, gain, lost):
        """Whether a pulse is due, and how long it is."""
        least_c = gain * self._min_on_s
        self._travels = missing_c > least_c
        if self._travels:
            return True
        duty = max(0.0, min(1.0, lost / gain))  # it is lost during the pulse, too
        self._pulse_s = (missing_c + 0.5 * (1.0 + duty) * self.swing_c) / gain
        under_c = missing_c - 0.5 * (1.0 - duty) * self.swing_c
        if under_c < 0.0 and self._pulse_s < self._min_on_s:
            return False
        return self._on_s + self._off_s >= CYCLE_S or under_c > _FAR_PULSES * least_c

    def ahead_c(self, gain, lost):
        """What the pulse that is on must still add."""
        left_s = max(0.0, self._min_on_s - self._on_s) if self.is_on else 0.0
        return left_s * max(0.0, gain - lost)

    def lowering(self, missing_c, gain, lost):
        """The fan, 0.0 or 1.0: what a pulse gives past the saw's upper end is its, from the
        pulse's begin on."""
        past_c = self.ahead_c(gain, lost) - missing_c - _LOWERED_C
        is_due = self.is_braked and self._is_held
        return 1.0 if is_due and past_c > 0.5 * self.swing_c else 0.0

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


def felt_c(swing_c, cycle_s, rates):
    """How far the chocolate goes to either side by such a saw: its first harmonic, swing / pi,
    through the lags of element and plate."""
    turn = 2.0 * pi / cycle_s
    element, plate = turn * rates.element_s, turn * rates.plate_s
    return swing_c / (pi * sqrt((1.0 + element * element) * (1.0 + plate * plate)))


def lowest_c(pulse_c, mean_c):
    """What is left of even pulses before the next, where their mean is `mean_c`: a lag that falls
    from lowest + pulse to lowest in a period of pulse / mean lags."""
    return pulse_c / (exp(min(pulse_c / mean_c, 30.0)) - 1.0)


def peak_c(hidden_c, held_c, pulse_c, rates, on_s=0.0):
    """How much the plate will have at most: of what it has, of what the element holds and of a
    pulse of `on_s`, taken for a blow in its middle. Two lags in a row, closed form."""
    plate_s = rates.plate_s
    part = min(rates.element_s / plate_s, plate_s / max(rates.element_s, 0.1), _ALIKE)
    slow_s = max(plate_s, rates.element_s)
    top_s = -slow_s * part * log(part) / (1.0 - part)
    most_c = hidden_c
    for at_s in (0.5 * top_s, top_s):
        fed_c = (held_c + pulse_c) * _fed(at_s, part, slow_s, plate_s)
        most_c = max(most_c, hidden_c * exp(-(at_s + 0.5 * on_s) / plate_s) + fed_c)
    return most_c


def _fed(at_s, part, slow_s, plate_s):
    """Of 1 in the element, what is in the plate `at_s` later; the lags may change places."""
    per = plate_s / slow_s
    return per * (exp(-at_s / slow_s) - exp(-at_s / (part * slow_s))) / (1.0 - part)
