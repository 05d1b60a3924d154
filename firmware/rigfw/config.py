"""The rig's description as the device keeps it: one line of text with a check sum.

`rig|2|heater_w|...|checks_off|crc8hex`, fields in the order of FIELDS, each a plain integer. The
text is canonical. Whatever else it is, it is refused and the rig stays locked: there are no
defaults to run on.
"""

from rigfw import limits
from rigwire.frames import crc_hex

HEAD = "rig"
FORMAT = "2"

FIELDS = (
    # name, least, most
    ("heater_w", 10, 2000),
    ("plate_j_per_k", 20, 20000),
    ("plate_w_per_k", 1, 500),
    ("loss_mw_per_k", 0, 20000),
    ("fan_loss_mw_per_k", 0, 50000),
    ("probe_lag_ms", 0, 60000),
    ("ceiling_mc", 30000, limits.PRODUCT_CEILING_MC),
    ("plate_ceiling_mc", 40000, limits.PLATE_CEILING_MC),
    ("attended_limit_s", 300, limits.ATTENDED_CEILING_S),
    ("min_on_ms", 250, 10000),
    ("min_off_ms", 250, 10000),
    ("fan_min_ms", 0, 60000),
    ("has_plate", 0, 1),
    ("has_room", 0, 1),
    ("has_tacho", 0, 1),
    ("has_sense", 0, 1),
    ("tacho_pulses", 1, 12),
    ("checks_off", 0, 7),
)


class ConfigRefused(Exception):
    """The description cannot be trusted; `reason` says why in words, `key` is that of a stop."""

    def __init__(self, reason, key="unfit_configuration"):
        super().__init__(reason)
        self.reason = reason
        self.key = key


class RigConfig:
    """The rig: powers in W, heat capacity in J/K, losses in mW/K, ceilings in mC.

    `plate_w_per_k` is from plate to stirred liquid chocolate, `loss_mw_per_k` from the whole to
    the room in still air, `fan_loss_mw_per_k` what a full fan adds. `fan_min_ms` 0 means a fan
    whose speed can be set; otherwise it is switched, for at least so long. `tacho_pulses` are
    those of one turn of the stirrer. `checks_off`: bits limits.OFF_..., 0 for none.
    """

    __slots__ = (
        "attended_limit_s",
        "ceiling_mc",
        "checks_off",
        "fan_loss_mw_per_k",
        "fan_min_ms",
        "has_plate",
        "has_room",
        "has_sense",
        "has_tacho",
        "heater_w",
        "loss_mw_per_k",
        "min_off_ms",
        "min_on_ms",
        "plate_ceiling_mc",
        "plate_j_per_k",
        "plate_w_per_k",
        "probe_lag_ms",
        "tacho_pulses",
    )

    def __init__(self, **fields):
        """Every field of FIELDS by name. Raises ConfigRefused."""
        for name, least, most in FIELDS:
            value = fields.pop(name, None)
            if type(value) is not int or not least <= value <= most:
                raise ConfigRefused(name + " is missing or out of range")
            setattr(self, name, value)
        if fields:
            raise ConfigRefused("a field is unknown")
        words = self._why_impossible()
        if words:
            raise ConfigRefused(words)

    def _why_impossible(self):
        """Words for figures that are each within range and do not go together, "" for none."""
        if self.ceiling_mc > self.plate_ceiling_mc:
            return "the chocolate may get hotter than the plate"
        if self.tacho_pulses > 1 and not self.has_tacho:
            return "tacho_pulses are given and there is no tachometer"
        if self.fan_min_ms and not self.fan_loss_mw_per_k:
            return "fan_min_ms is given and there is no fan"
        if self.checks_off & limits.OFF_COLD and not self.has_plate:
            return "a check of two probes is off and there is one"
        return self._why_too_strong() if self.heater_w > limits.FREE_W else ""

    def _why_too_strong(self):
        """Above FREE_W a shorted switch must be sensed before the plate is 5 K over its limit."""
        if not self.has_sense:
            return "a heater above 100 W needs the sense of its node"
        if not self.has_plate:
            return "a heater above 100 W needs a plate probe"
        if self.heater_w * limits.SHORTED_MS > self.plate_j_per_k * limits.PLATE_OVER_MC:
            return "the plate is too light for its heater"
        return ""

    def to_text(self):
        """The one line of this rig, check sum included, without a line end."""
        figures = [str(getattr(self, field[0])) for field in FIELDS]
        body = "|".join([HEAD, FORMAT] + figures)
        return body + "|" + crc_hex(body.encode())

    @staticmethod
    def from_text(text):
        """The rig of a line. Raises ConfigRefused and nothing else."""
        parts = text.split("|") if type(text) is str else []
        if len(parts) != len(FIELDS) + 3 or parts[:2] != [HEAD, FORMAT]:
            raise ConfigRefused("the rig's description is missing or not of format 2")
        if crc_hex("|".join(parts[:-1]).encode()) != parts[-1]:
            raise ConfigRefused("the rig's description is damaged")
        try:
            figures = [int(part) for part in parts[2:-1]]
        except ValueError:
            raise ConfigRefused("the rig's description is damaged")
        config = RigConfig(**{field[0]: figures[at] for at, field in enumerate(FIELDS)})
        if config.to_text() != text:
            raise ConfigRefused("the rig's description is not in its one form")
        return config
