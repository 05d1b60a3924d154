"""What every kind of probe has in common: a believed value, when it was measured, or why not.

A value that cannot be believed is MISSING_MC and never a number: 0 would be "cold", and cold
means heat.
"""

from rigwire.messages import MISSING_MC

ROLES = ("chocolate", "plate", "room", "sample")
SLOPE_UNIT = 100000

FINE = 0
NO_ANSWER = 1
NOT_DONE = 2
ALL_ZEROS = 3
ALL_ONES = 4
CHECK_SUM = 5
RESERVED = 6
RESOLUTION = 7
START_UP = 8
LOST_POWER = 9
FIRST_VALUE = 10
OPEN = 11
SHORT = 12
UNSTEADY = 13
CHIP_SETTINGS = 14
CHIP_FAULT = 15
OUT_OF_RANGE = 16

WHY = (
    "fine",
    "does not answer",
    "no end of its conversion, or a shorted bus",
    "all zeros: the bus is shorted",
    "all ones: nothing answers",
    "wrong check sum",
    "fixed bytes wrong: no DS18B20, or a copy",
    "not set to 12 bits",
    "the value before a first conversion",
    "lost power since its conversion began",
    "first value after a gap, not used",
    "open: broken wire or no probe",
    "shorted",
    "unsteady: loose contact or disturbed wire",
    "the converter does not hold its settings",
    "the converter reports a fault of the wiring",
    "outside what this probe can measure",
)


class Probe:
    """One probe. `value_mc` milli-degC or MISSING_MC, `at_ms` when that measurement began.

    `why` indexes WHY. A believed value is corrected by what calibration found: `offset_mk` added,
    and `slope_e5` hundred-thousandths of the value in degC. Allocates nothing.
    """

    def __init__(self, offset_mk=0, slope_e5=0):
        self.value_mc = MISSING_MC
        self.at_ms = 0
        self.why = NO_ANSWER
        self._offset_mk = offset_mk
        self._slope_e5 = slope_e5

    def take(self, read_mc, at_ms):
        """A good value, before correction."""
        more_mk = (read_mc * self._slope_e5 + SLOPE_UNIT // 2) // SLOPE_UNIT
        self.value_mc = read_mc + self._offset_mk + more_mk
        self.at_ms = at_ms
        self.why = FINE

    def miss(self, why, at_ms):
        """No value that can be believed."""
        self.value_mc = MISSING_MC
        self.at_ms = at_ms
        self.why = why
