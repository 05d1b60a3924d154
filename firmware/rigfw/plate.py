"""How much heat the bowl may get, and the plate against its limits. Allocates nothing."""

from rigfw import limits
from rigwire.messages import MISSING_MC


def strongest_permille(config, mass_g, poured_g):
    """The most heat that so little chocolate may get: 5 K in no less than 34 s.

    The plate alone must not get by PLATE_OVER_MC hotter before its probe tells. The last
    LAST_MASS_G of a larger batch get half of a rig's power at most, and a rig whose description
    switches a check off CHECKS_OFF_W.
    """
    left_g = max(mass_g - poured_g, 0)
    j_per_k = left_g * limits.SPECIFIC_LEAST_J_PER_KG_K // 1000 + config.plate_j_per_k
    most_w = j_per_k * limits.STRONG_MC_PER_S // 1000
    most_w = min(most_w, config.plate_j_per_k * limits.PLATE_OVER_MC // limits.PLATE_BLIND_MS)
    if config.checks_off:
        most_w = min(most_w, limits.CHECKS_OFF_W)
    most = min(1000, 1000 * most_w // config.heater_w)
    return min(most, limits.LAST_PERMILLE) if poured_g and left_g <= limits.LAST_MASS_G else most


class PlateCheck:
    """`plate_mc` is the last good reading, MISSING_MC when none; `good_ms` when it began."""

    def __init__(self, config):
        self._config = config
        self.begin(0)

    def begin(self, at_ms):
        """A batch begins; no plate was read yet."""
        self.plate_mc = MISSING_MC
        self.good_ms = at_ms
        self._hot_reads = 0
        self._is_held = 0

    def new(self, plate_mc, at_ms):
        """One reading. True when the plate is too hot in PLATE_READS of them in a row."""
        if plate_mc < limits.PLATE_LOW_MC:
            return False  # a plate this cold is a broken probe: its age will tell
        self.plate_mc = plate_mc
        self.good_ms = at_ms
        is_hot = plate_mc > self._config.plate_ceiling_mc
        self._hot_reads = self._hot_reads + 1 if is_hot else 0
        return self._hot_reads >= limits.PLATE_READS

    def is_held(self, wall_mc):
        """1 while heat is withheld because the plate is above its limit in this step."""
        ceiling_mc = min(wall_mc, self._config.plate_ceiling_mc)
        if self._is_held:
            ceiling_mc -= limits.WALL_BACK_MC
        self._is_held = 1 if self.plate_mc > ceiling_mc else 0
        return self._is_held
