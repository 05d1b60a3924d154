"""The rig's description as the firmware uses it. Its text and its limits: `rigfw.describe`."""

UNFIT_CONFIGURATION = 11


class ConfigRefused(Exception):
    """The description cannot be trusted; `reason` says why in words, `code` is that of a stop."""

    def __init__(self, reason, code=UNFIT_CONFIGURATION):
        super().__init__(reason)
        self.reason = reason
        self.code = code


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

    # A board reads its description once: what checks it is dropped from its memory after boot.

    def __init__(self, **fields):
        """Every field of rigfw.describe.FIELDS by name. Raises ConfigRefused."""
        from rigfw import describe

        describe.fill(self, fields)

    def to_text(self):
        """The one line of this rig, check sum included, without a line end."""
        from rigfw import describe

        return describe.to_text(self)

    @staticmethod
    def from_text(text):
        """The rig of a line. Raises ConfigRefused and nothing else."""
        from rigfw import describe

        return RigConfig(**describe.fields_of(text))

    @staticmethod
    def least():
        """The least that any rig may have."""
        from rigfw import describe

        return RigConfig(**{name: least for name, least, _ in describe.FIELDS})
