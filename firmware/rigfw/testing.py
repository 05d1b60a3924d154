"""The state `testing`: outputs driven by leases, within what one press allowed.

Commissioning and step tests need an output by itself. The host asks with the greatest powers, the
greatest plate temperature and the longest time; a person presses; from then the host keeps short
leases. A lease outside a test drives nothing and says that the host is there: it keeps a window,
of a batch too, that is open or that it asks for next. The interlocks judge as in a batch.
Allocates nothing after it is built.
"""

from rigfw import limits


class Testing:
    """Powers in permille. `plate_mc` is the wall limit of this test."""

    def __init__(self):
        self.is_asked = 0
        self.heat_permille = self.fan_permille = self.stir_permille = 0
        self.plate_mc = 0
        self._most_heat = self._most_fan = self._most_stir = 0
        self._left_ms = self._lease_ms = self.kept_ms = 0

    def ask(self, heat_permille, fan_permille, stir_permille, plate_mc, most_s):
        """What a press will allow."""
        self._most_heat = heat_permille
        self._most_fan = fan_permille
        self._most_stir = stir_permille
        self.plate_mc = plate_mc
        self._left_ms = 1000 * most_s
        self.is_asked = 1

    def keep_window(self):
        """The host that asks is there; from now on it must go on saying so."""
        self.kept_ms = limits.LEASE_MS

    def is_let_go(self, passed_ms):
        """True in the pass in which a host that said it is there has been silent for LEASE_MS."""
        if self.kept_ms <= 0:
            return False
        self.kept_ms -= passed_ms
        return self.kept_ms <= 0

    def begin(self):
        """The press came: nothing is driven before the first lease."""
        self.is_asked = self.kept_ms = 0
        self.heat_permille = self.fan_permille = self.stir_permille = 0
        self._lease_ms = limits.LEASE_MS

    def allows(self, heat_permille, fan_permille, stir_permille):
        """True when the press covers these powers."""
        return (
            heat_permille <= self._most_heat
            and fan_permille <= self._most_fan
            and stir_permille <= self._most_stir
        )

    def lease(self, heat_permille, fan_permille, stir_permille):
        """Drive this from now on, for LEASE_MS."""
        self.heat_permille = heat_permille
        self.fan_permille = fan_permille
        self.stir_permille = stir_permille
        self._lease_ms = limits.LEASE_MS

    def tick(self, passed_ms):
        """True once lease or test is over."""
        self._left_ms -= passed_ms
        self._lease_ms -= passed_ms
        return self._left_ms <= 0 or self._lease_ms <= 0
