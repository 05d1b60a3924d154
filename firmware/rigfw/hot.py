"""The chocolate against the ceiling of its step.

The ceiling is the step's target or, where the chocolate began warmer, the least it has had since:
it falls with the chocolate and never rises. Heat is withheld above it, and the rig stops when
the chocolate stays there or goes far above. Integers only; allocates nothing after it is made.
"""

from rigfw import limits
from rigfw.dip import DipWatch
from rigwire.messages import MISSING_MC


class HotCheck:
    """After `judge`, `withhold` 1 keeps heat off and `stop` 1 latches the rig.

    A warm ladle that nobody declared is no fault: chocolate that rises faster than the heater can
    drive it, or above its plate, was fed. For FED_MS after that, being over by 2 K does not stop;
    4 K still does. Nor does it stop over a plate that is no warmer: the heat of crystals, or of a
    ladle, did not come through it.
    """

    def __init__(self, config):
        self._config = config
        self._rises = DipWatch(limits.FED_S, limits.FED_LEAST_MC)
        self._fed_least_mc = limits.FED_LEAST_MC
        self.stop = self.withhold = self.is_warm = 0
        self.fed_ms = 0
        self._by_plate = True

    def begin(self, mass_g):
        """A batch of this mass begins."""
        self.stop = self.withhold = self.is_warm = self.fed_ms = 0
        self._by_plate = True
        self._rises.clear()
        heat_j = self._config.heater_w * limits.FED_S
        mj_per_k = max(1, mass_g) * limits.SPECIFIC_LEAST_J_PER_KG_K
        drives_mc = _times_1000(1000 * heat_j, mj_per_k)
        self._fed_least_mc = max(limits.FED_LEAST_MC, drives_mc * limits.FED_PERCENT // 100)

    def begin_step(self, product_mc, recent_mc):
        """A step begins with this reading; `recent_mc` is the warmest of the last minutes."""
        self._lowest_mc = product_mc
        self._coolest_mc = recent_mc
        self._over_ms = 0

    def believe(self, product_mc):
        """One more believed reading: the ceiling may fall."""
        if self._lowest_mc == MISSING_MC:
            self._lowest_mc = product_mc
        self._lowest_mc = min(self._lowest_mc, product_mc)

    def feed(self):
        """Something warm went in."""
        self.fed_ms = limits.FED_MS

    def after_pause(self):
        """Hands were in: time over the limit counts anew."""
        self._over_ms = 0
        self._rises.clear()

    def second(self, product_mc, plate_mc):
        """Once a second: did it rise faster than the heater, or a plate that is colder, can?"""
        risen_mc = self._rises.second(-product_mc)
        by_plate = plate_mc == MISSING_MC or plate_mc > product_mc
        self._by_plate = by_plate
        if risen_mc and (not by_plate or risen_mc >= self._fed_least_mc):
            self.feed()

    def ceiling_mc(self, target_mc):
        """What the chocolate may have now: the target, or its least since the step began."""
        return max(target_mc, min(self._lowest_mc, limits.PRODUCT_CEILING_MC))

    def judge(self, product_mc, target_mc, recent_mc, wider_mc, passed_ms):
        """One pass. `wider_mc` is what an addition allows, `recent_mc` as in begin_step."""
        self.stop = 0
        if self.fed_ms > 0:
            self.fed_ms -= passed_ms
        over_mc = product_mc - self.ceiling_mc(target_mc) - wider_mc
        self.is_warm = 1 if over_mc > limits.WARM_ENOUGH_MC else 0
        is_over = over_mc > limits.HOT_MC or product_mc > self._config.ceiling_mc
        self.withhold = 1 if is_over else 0
        self._coolest_mc = min(self._coolest_mc, recent_mc, limits.PRODUCT_CEILING_MC)
        over_mc = product_mc - max(target_mc, self._coolest_mc) - wider_mc
        if over_mc > limits.HOT_AT_ONCE_MC:
            self.stop = 1
        if over_mc <= limits.HOT_MC or self.fed_ms > 0 or not self._by_plate:
            self._over_ms = 0
            return
        self._over_ms += passed_ms
        if self._over_ms >= limits.HOT_MS:
            self.stop = 1


def _times_1000(part, whole):
    """1000 * part // whole, digit by digit: the product is more than a board's small integers
    hold, and would take memory. `whole` is at most 10^8."""
    result, rest = part // whole, part % whole
    for _ in range(3):
        rest *= 10
        result = result * 10 + rest // whole
        rest %= whole
    return result
