"""One tick between the plant and the firmware: two records of 32-bit integers.

This file is imported by the host and copied beside `device_main.py` for the firmware's
interpreter, so the layout exists once. Each record may be followed by wire bytes, whose count
stands in its last field. Milliseconds are the device's own since its start, modulo TICKS_PERIOD.
"""

TICK_MS = 250
"""The period of the firmware's loop; one record each way in every loop."""

TICKS_PERIOD = 1 << 30
"""The device's millisecond counter wraps here, as `time.ticks_ms` does."""

MAX_WIRE_BYTES = 512
"""Most wire bytes beside one record. The firmware writes at most 4 x 64 a loop."""

WRITE_BYTES = 64
"""Most bytes of one write of the firmware's port, as of a USB packet."""

TO_DEVICE = (
    "now_ms",
    "product_mc",
    "product_at_ms",
    "plate_mc",
    "plate_at_ms",
    "room_mc",
    "room_at_ms",
    "sample_mc",
    "inputs",  # bits START_DOWN ...
    "room_bytes",  # how many bytes the port takes in this loop
    "wire_bytes",  # how many bytes from the host follow
)
NOW_MS, PRODUCT_MC, PRODUCT_AT_MS, PLATE_MC, PLATE_AT_MS = 0, 1, 2, 3, 4
ROOM_MC, ROOM_AT_MS, SAMPLE_MC, INPUTS, ROOM_BYTES, WIRE_IN_BYTES = 5, 6, 7, 8, 9, 10

START_DOWN, PEDAL_DOWN, STOP_OPEN, BOWL_PRESENT, STIR_TURNING, HEATER_LIVE = 1, 2, 4, 8, 16, 32
"""Bits of `inputs`."""

TO_PLANT = (
    "at_ms",  # the `now_ms` this record answers
    "outputs",  # bits HEAT_ON ...
    "fan_permille",
    "stir_permille",
    "shown_mc",  # the display, as the person sees it
    "state_no",
    "prompt_no",
    "shown_value",
    "left_s",
    "stop_code",
    "hands_no",
    "buzzer",
    "lamp",
    "waiting_bytes",  # bytes from the host that the firmware has not read yet
    "wire_bytes",  # how many bytes to the host follow
)
AT_MS, OUTPUTS, FAN_PERMILLE, STIR_PERMILLE, SHOWN_MC, STATE_NO = 0, 1, 2, 3, 4, 5
PROMPT_NO, SHOWN_VALUE, LEFT_S, STOP_CODE, HANDS_NO, BUZZER, LAMP = 6, 7, 8, 9, 10, 11, 12
WAITING_BYTES, WIRE_OUT_BYTES = 13, 14

HEAT_ON, ENABLE_EDGE, KICKED = 1, 2, 4
"""Bits of `outputs`. ENABLE_EDGE is the level of the edge train's pin, KICKED a fed watchdog."""

TO_DEVICE_FORMAT = "=%di" % len(TO_DEVICE)  # noqa: UP031 - as the rest of this file, for both
TO_PLANT_FORMAT = "=%di" % len(TO_PLANT)  # noqa: UP031
REPORT_FORMAT = "=i"
"""Before the first tick the device sends its report: a count, then so many bytes of JSON."""
