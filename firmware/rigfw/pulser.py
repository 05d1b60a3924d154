"""From a demand in permille to a switch that is on or off.

In each window the switch is on once. What rounding and the shortest times take from a window is
carried into the next, so the mean is the demand. A demand of 0 is off at once: safety does not
wait for a shortest time.
"""

SSR_WINDOW_MS = 2000
RELAY_WINDOW_MS = 10000
SSR_MIN_ON_MS = 1000
"""A switch with a shortest time from here on is a relay: 1e5 operations at one per 10 s are
278 h (calculated; the 1e5 is a usual figure, from memory)."""


class Pulser:
    """One switch. Times in ms; `min_on_ms` and `min_off_ms` are kept except by a demand of 0.

    Integers only; `step` allocates nothing.
    """

    def __init__(self, window_ms, min_on_ms, min_off_ms):
        self.window_ms = max(window_ms, min_on_ms + min_off_ms)
        self._min_on_ms = min_on_ms
        self._min_off_ms = min_off_ms
        self.on = 0
        self._at_ms = self.window_ms
        self._on_ms = 0
        self._carry = 0
        self._off_ms = min_off_ms

    def cut(self):
        """Off now; the next demand begins a new window once the shortest off time is over."""
        if self.on:
            self._off_ms = 0
        self.on = 0
        self._carry = 0
        self._on_ms = 0
        self._at_ms = self.window_ms

    def step(self, demand_permille, passed_ms):
        """The switch, 0 or 1, for the pass that begins now, `passed_ms` after the last."""
        if not self.on and self._off_ms < self._min_off_ms:
            self._off_ms += passed_ms
        if demand_permille <= 0:
            self.cut()
            return 0
        self._at_ms += passed_ms
        if self._at_ms >= self.window_ms and (self.on or self._off_ms >= self._min_off_ms):
            self._begin(demand_permille, passed_ms)
        return self._switch(1 if self._at_ms < self._on_ms else 0)

    def _begin(self, demand_permille, passed_ms):
        """A new window: how long it is on, and what is owed to the next (permille ms)."""
        self._at_ms = 0
        owed = min(demand_permille, 1000) * self.window_ms + self._carry
        step_ms = max(passed_ms, 1)
        on_ms = (owed // 1000 + step_ms // 2) // step_ms * step_ms
        if on_ms < self._min_on_ms:
            on_ms = 0
        elif on_ms > self.window_ms - self._min_off_ms:
            on_ms = self.window_ms
        self._on_ms = on_ms
        bound = 1000 * self.window_ms
        self._carry = max(-bound, min(bound, owed - 1000 * on_ms))

    def _switch(self, on):
        if self.on and not on:
            self._off_ms = 0
        self.on = on
        return on
