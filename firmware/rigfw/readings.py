"""What the board measures and what people press. Plain slots, filled again and again."""

from rigwire.messages import MISSING_MC


class Readings:
    """Probe values in mC with the clock's ms at which each conversion began.

    `sample_mc` is for the host alone: nothing here is judged or steered by it.
    """

    __slots__ = (
        "plate_at_ms",
        "plate_mc",
        "product_at_ms",
        "product_mc",
        "room_at_ms",
        "room_mc",
        "sample_mc",
    )

    def __init__(self):
        self.product_mc = self.plate_mc = self.room_mc = self.sample_mc = MISSING_MC
        self.product_at_ms = self.plate_at_ms = self.room_at_ms = 0

    def forget_undescribed(self, config):
        """A probe that the rig's description does not have is none, whatever is plugged in."""
        if not config.has_plate:
            self.plate_mc = MISSING_MC
        if not config.has_room:
            self.room_mc = MISSING_MC


class Inputs:
    """Contacts and senses, 0 or 1. Before the first read the stop loop counts as open."""

    __slots__ = (
        "bowl_present",
        "heater_live",
        "pedal_down",
        "start_down",
        "stir_turning",
        "stop_open",
    )

    def __init__(self):
        self.start_down = self.pedal_down = 0
        self.bowl_present = self.stop_open = 1
        self.heater_live = 0  # sensed, where has_sense
        self.stir_turning = 0  # a pulse of the tachometer came within 3 s, where has_tacho
