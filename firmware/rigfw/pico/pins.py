"""Which GPIO does what on a Raspberry Pi Pico: names for the rows of `rigfw.pinmap`.

GPIO15 drives no output: a work-around in the RP2040's USB start-up may use it (its published
errata, from memory). GPIO23, 24, 25 and 29 belong to the board itself.
"""

from rigfw.pinmap import gpio, gpios

PROBES = gpio("PROBES")
PT_OUT = gpio("PT_OUT")
DISPLAY_SDA = gpio("DISPLAY_SDA")
DISPLAY_SCL = gpio("DISPLAY_SCL")
HEATER = gpio("HEATER")
ENABLE = gpio("ENABLE")
FAN = gpio("FAN")
TACHO = gpio("TACHO")
BUZZER = gpio("BUZZER")
LAMP = gpio("LAMP")
STIRRER = gpio("STIRRER")
PT_SELECT_2 = gpio("PT_SELECT_2")
HEATER_SENSE = gpio("HEATER_SENSE")
START = gpio("START")
PEDAL = gpio("PEDAL")
BOWL = gpio("BOWL")
STOP_LOOP = gpio("STOP_LOOP")
PT_IN = gpio("PT_IN")
PT_SELECT_1 = gpio("PT_SELECT_1")
PT_CLOCK = gpio("PT_CLOCK")
NTC_1 = gpio("NTC_1")
NTC_2 = gpio("NTC_2")
NTC_3 = gpio("NTC_3")

OUTPUTS = gpios("out")
INPUTS = gpios("in")
BUSES = gpios("bus")
