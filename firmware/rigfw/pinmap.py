"""The one pin map of the rig, as data: the guide is made from it, the board's numbers checked.

`rigfw.pico.pins` has each name with its GPIO; `hardware/pinmap.md`, the wiring and the drawings
are made from it or checked against it. A row is
(name, GPIO, pin of the 40-pin board, way, at rest, use).

way      "out", "in", or "bus" for a line that both ends may drive
at rest  what holds the line while no program runs:
         "down"     a resistor of 10 k outside, to ground
         "up"       a resistor outside, to 3.3 V
         "inside"   the chip's own pull, for a contact: "inside up" or "inside down"
         "divider"  the resistors that the signal comes through
         "chip"     what the line leads to
"""

ROWS = (
    ("PROBES", 2, 4, "bus", "up", "one-wire bus of all DS18B20 probes"),
    ("PT_OUT", 3, 5, "bus", "chip", "data to the converters of platinum probes (SPI 0)"),
    ("DISPLAY_SDA", 4, 6, "bus", "chip", "I²C data of the display"),
    ("DISPLAY_SCL", 5, 7, "bus", "chip", "I²C clock of the display"),
    ("HEATER", 6, 9, "out", "down", "heater switch, high = on"),
    ("ENABLE", 7, 10, "out", "down", "edge train that keeps the enable relay closed"),
    ("FAN", 8, 11, "out", "down", "fan or coolant pump, PWM at 25 kHz or on and off"),
    (
        "TACHO",
        9,
        12,
        "in",
        "inside up",
        "the stirrer's tachometer, counted as it falls",
    ),
    ("BUZZER", 10, 14, "out", "down", "buzzer"),
    ("LAMP", 11, 15, "out", "down", "lamp: the start window is open, or somebody is wanted"),
    ("STIRRER", 12, 16, "out", "down", "stirrer, PWM at 25 kHz"),
    ("PT_SELECT_2", 13, 17, "bus", "up", "low while platinum converter 2 is spoken to"),
    ("HEATER_SENSE", 14, 19, "in", "divider", "high while the heater has voltage"),
    ("START", 16, 21, "in", "inside up", "start and next button, low = pressed"),
    ("PEDAL", 17, 22, "in", "inside up", "pedal, low = pressed"),
    ("BOWL", 18, 24, "in", "inside up", "bowl contact, low = bowl seated"),
    ("STOP_LOOP", 19, 25, "in", "divider", "stop loop, high = closed"),
    ("PT_IN", 20, 26, "bus", "chip", "data from the converters of platinum probes"),
    ("PT_SELECT_1", 21, 27, "bus", "up", "low while platinum converter 1 is spoken to"),
    ("PT_CLOCK", 22, 29, "bus", "chip", "clock of the converters of platinum probes"),
    ("NTC_1", 26, 31, "in", "divider", "thermistor 1, analog"),
    ("NTC_2", 27, 32, "in", "divider", "thermistor 2, analog"),
    ("NTC_3", 28, 34, "in", "divider", "thermistor 3, analog"),
)

NAME, GPIO, BOARD_PIN, WAY, AT_REST, USE = range(6)


def gpio(name):
    """The GPIO of a name. Raises KeyError for one that the map does not have."""
    for row in ROWS:
        if row[NAME] == name:
            return row[GPIO]
    raise KeyError(name)


def gpios(way):
    """The GPIOs of a way, in the order of the map."""
    return tuple([row[GPIO] for row in ROWS if row[WAY] == way])
