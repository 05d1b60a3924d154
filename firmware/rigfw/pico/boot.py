"""First thing after any reset: every output is driven low.

The device's own boot.py is `from rigfw.pico import boot` and `boot.outputs_off()`.
"""

import os

from machine import Pin

from rigfw.pico.pins import OUTPUTS
from rigfw.update import MARK


def outputs_off():
    """Drive every output pin low. The pull-downs outside hold them until here."""
    for number in OUTPUTS:
        Pin(number, Pin.OUT, value=0)


def take_mark():
    """True when this boot is for an update. The mark counts once: it is gone when this returns.

    One that cannot be removed keeps the board at its prompt, where nothing is driven.
    """
    try:
        os.stat(MARK)
    except OSError:
        return False
    try:
        os.remove(MARK)
    except OSError:
        pass
    return True
