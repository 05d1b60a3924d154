"""What the board drives. Plain slots, written again and again."""


class Outputs:
    """`heat_on` 0/1; `enable_edge` changes in every pass while heat may be on; rest permille."""

    __slots__ = ("buzzer", "enable_edge", "fan_permille", "heat_on", "lamp", "stir_permille")

    def __init__(self):
        self.reset()

    def reset(self):
        """All off. Allocates nothing."""
        self.heat_on = self.enable_edge = self.buzzer = self.lamp = 0
        self.fan_permille = self.stir_permille = 0
