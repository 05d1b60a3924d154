"""Which GPIO does what on a Raspberry Pi Pico: the names of `rigfw.pinmap` with their numbers.

GPIO15 drives no output: a work-around in the RP2040's USB start-up may use it (its published
errata, from memory). GPIO23, 24, 25 and 29 belong to the board itself.
The map itself is not loaded on a board: `tests/docs/test_pinmap.py` compares each number with it.
"""

PROBES = 2
PT_OUT = 3
DISPLAY_SDA = 4
DISPLAY_SCL = 5
HEATER = 6
ENABLE = 7
FAN = 8
TACHO = 9
BUZZER = 10
LAMP = 11
STIRRER = 12
PT_SELECT_2 = 13
HEATER_SENSE = 14
START = 16
PEDAL = 17
BOWL = 18
STOP_LOOP = 19
PT_IN = 20
PT_SELECT_1 = 21
PT_CLOCK = 22
NTC_1 = 26
NTC_2 = 27
NTC_3 = 28

OUTPUTS = (HEATER, ENABLE, FAN, BUZZER, LAMP, STIRRER)
