"""One push button, sampled once a pass. A press has a number, so that "begun after" is exact."""


class Button:
    """`number` counts presses by their begin; `held_ms` is how long the present or last one is.

    A button that is down when the rig boots is not a press until it was let go once.
    """

    __slots__ = ("_booting", "down", "held_ms", "number")

    def __init__(self):
        self.number = 0
        self.held_ms = 0
        self.down = 0
        self._booting = 1

    def step(self, is_down, passed_ms):
        """True in the pass that sees the button let go. Allocates nothing."""
        if is_down:
            self._press(passed_ms)
            return False
        self._booting = 0
        if not self.down:
            return False
        self.down = 0
        self.held_ms += passed_ms
        return self.number > 0

    def _press(self, passed_ms):
        if self.down:
            self.held_ms += passed_ms
            return
        self.down = 1
        self.held_ms = 0
        if not self._booting:
            self.number += 1
