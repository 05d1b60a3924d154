"""NTC thermistors on an analog input, with a pull-up resistor to the input's own reference.

The reading is a ratio, so the reference's voltage does not matter. An open wire reads full scale,
which as a temperature would be very cold and ask for heat; a short reads 0. Both are refused, and
so is a reading that jumps about within a second, as a loose contact does.
"""

from math import log

from rigfw.drivers import probe as probes

KELVIN = 273.15
FULL_COUNTS = 65535
SAMPLES = 16
BURSTS = 4
OPEN_COUNTS = 64000  # own choice: under -40 degC with 10 kohm at 25 degC and 10 kohm pull-up
SHORT_COUNTS = 1200  # own choice: above 140 degC with the same
UNSTEADY_COUNTS = 2000  # own choice: 3 K near 30 degC with the same; a second moves it far less
LOW_MC = -10000
HIGH_MC = 120000  # a plate that is too hot must be seen as too hot, not as a broken probe


def beta_curve(ohm_25, beta_k):
    """(a, b, c) of `celsius` from the resistance at 25 degC in ohm and the beta value in K."""
    return 1 / (25 + KELVIN) - log(ohm_25) / beta_k, 1 / beta_k, 0


def three_point_curve(ohm_0, ohm_25, ohm_50):
    """(a, b, c) of `celsius` from the resistances at 0, 25 and 50 degC in ohm, falling.

    The equation of Steinhart and Hart (1968), solved for three points.
    """
    ln_0, ln_25, ln_50 = log(ohm_0), log(ohm_25), log(ohm_50)
    inverse_0 = 1 / KELVIN
    slope_25 = (1 / (25 + KELVIN) - inverse_0) / (ln_25 - ln_0)
    slope_50 = (1 / (50 + KELVIN) - inverse_0) / (ln_50 - ln_0)
    c = (slope_50 - slope_25) / (ln_50 - ln_25) / (ln_0 + ln_25 + ln_50)
    b = slope_25 - c * (ln_0 * ln_0 + ln_0 * ln_25 + ln_25 * ln_25)
    return inverse_0 - (b + ln_0 * ln_0 * c) * ln_0, b, c


def celsius(ohm, curve):
    """Degrees of a resistance: 1/T = a + b ln R + c (ln R)^3, T in K."""
    a, b, c = curve
    ln_ohm = log(ohm)
    return 1 / (a + ln_ohm * (b + c * ln_ohm * ln_ohm)) - KELVIN


class Thermistor:
    """One thermistor. `step` once a pass; True in each fourth pass, which has a new value.

    `adc.read_u16()` gives 0 to 65535. A pass adds one burst of readings; the value is the mean of
    the two middle ones of four bursts, so that one disturbed burst does not show. Longest pass
    about 2 ms (estimated: 16 readings at 50 us, and the curve).
    """

    def __init__(self, adc, probe, pull_ohm, curve):
        self._adc = adc
        self._probe = probe
        self._pull_ohm = pull_ohm
        self._curve = curve
        self._sums = []
        self._began_ms = 0
        self._low = self._high = 0

    def step(self, now_ms):
        """One burst; after the last of four, the value."""
        if not self._sums:
            self._began_ms = now_ms
            self._low, self._high = FULL_COUNTS, 0
        self._sums.append(self._burst())
        if len(self._sums) < BURSTS:
            return False
        self._finish()
        self._sums = []
        return True

    def _burst(self):
        total = 0
        for _ in range(SAMPLES):
            counts = self._adc.read_u16()
            total += counts
            self._low = min(self._low, counts)
            self._high = max(self._high, counts)
        return total

    def _finish(self):
        why = self._refusal()
        if why:
            self._probe.miss(why, self._began_ms)
            return
        middle = sorted(self._sums)[1:3]
        counts = (middle[0] + middle[1]) / (2 * SAMPLES)
        ohm = self._pull_ohm * counts / (FULL_COUNTS - counts)
        read_mc = round(celsius(ohm, self._curve) * 1000)
        if LOW_MC <= read_mc <= HIGH_MC:
            self._probe.take(read_mc, self._began_ms)
        else:
            self._probe.miss(probes.OUT_OF_RANGE, self._began_ms)

    def _refusal(self):
        """Each single reading counts: one of an open wire would move a mean by whole degrees."""
        if self._high >= OPEN_COUNTS:
            return probes.OPEN
        if self._low <= SHORT_COUNTS:
            return probes.SHORT
        return probes.UNSTEADY if self._high - self._low > UNSTEADY_COUNTS else probes.FINE
