"""A button, a pedal or the stop loop: a tap between two passes counts, a spark does not."""


class Contact:
    """One contact. `on_level` is the pin's level when it is pressed, or the loop open.

    `sample` every 20 ms or so between passes; `take` once a pass: 1 when it is on now, or was on
    in two samples in a row since a pass that saw it off. One sample alone may be a disturbance
    from a relay. Allocates nothing.
    """

    def __init__(self, pin, on_level):
        self._pin = pin
        self._on_level = on_level
        self._was_on = False
        self._tapped = 0
        self._is_held = True  # what is on at the start was not tapped

    def sample(self):
        """Look, between passes."""
        is_on = self._pin.value() == self._on_level
        if is_on and self._was_on and not self._is_held:
            self._tapped = 1
        self._was_on = is_on

    def take(self):
        """0 or 1 for this pass."""
        is_on = 1 if self._pin.value() == self._on_level else 0
        taken = is_on or self._tapped
        self._tapped = 0
        self._is_held = taken == 1
        return taken
