"""A fan, a pump or a stirrer on a PWM output; at 0 and at 1000 the level stands still."""

FULL_U16 = 65535
FULL_PERMILLE = 1000


class Speed:
    """`pwm.duty_u16(0..65535)`. Off when made. Allocates nothing."""

    def __init__(self, pwm):
        self._pwm = pwm
        self.set(0)

    def set(self, permille):
        """Share of full speed; beyond 0 to 1000 is the nearer end."""
        permille = max(0, min(FULL_PERMILLE, permille))
        self._pwm.duty_u16(permille * FULL_U16 // FULL_PERMILLE)
