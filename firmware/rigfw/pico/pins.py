"""Which GPIO does what on a Raspberry Pi Pico. hardware/pinmap.md is this table for people.

GPIO15 drives no output: a work-around in the RP2040's USB start-up may use it (its published
errata, from memory). GPIO23, 24, 25 and 29 belong to the board itself.
"""

PROBES = 2
DISPLAY_SDA = 4
DISPLAY_SCL = 5
HEATER = 6
ENABLE = 7
FAN = 8
STIRRER = 12
BUZZER = 10
LAMP = 11
START = 16
PEDAL = 17
BOWL = 18
STOP_LOOP = 19

OUTPUTS = (HEATER, ENABLE, FAN, STIRRER, BUZZER, LAMP)
INPUTS = (START, PEDAL, BOWL, STOP_LOOP)
BUSES = (PROBES, DISPLAY_SDA, DISPLAY_SCL)
