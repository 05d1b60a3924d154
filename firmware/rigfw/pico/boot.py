"""First thing after any reset: every output is driven low.

The device's own boot.py is `from rigfw.pico import boot` and `boot.outputs_off()`.
"""

from machine import Pin

from rigfw.pico import pins


def outputs_off():
    """Drive every output pin low. The pull-downs outside hold them until here."""
    for number in pins.OUTPUTS:
        Pin(number, Pin.OUT, value=0)
