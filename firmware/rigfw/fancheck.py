"""A fan that is on and takes nothing: it does not turn, or its way is blocked.

Judged only above MELTED_MC, where no crystals give heat off. Chocolate and plate together must
have fallen by what still air and a quarter of the described fan take. Integers only, allocates
nothing.
"""

from rigfw import limits
from rigwire.messages import MISSING_MC


class FanCheck:
    """`second` is called once a second and answers True once in a step."""

    def __init__(self, config):
        self._config = config
        self.begin(0)

    def begin(self, mass_g):
        """A batch begins."""
        self._mass_g = max(mass_g, 1)
        self.begin_step()

    def begin_step(self):
        """From here it may be said again."""
        self._said = self._on_s = 0
        self.renew(MISSING_MC)

    def renew(self, product_mc):
        """Something went in, or hands were in it: what was before says nothing."""
        self._from_mc = product_mc
        self._described_j = self._least_j = self._rest_mj = self._least_rest_mj = 0

    def second(self, product_mc, room_mc, fan_permille):
        """Whether the fan is dead. Needs the room; temperatures in mC."""
        is_judged = room_mc != MISSING_MC and product_mc >= limits.MELTED_MC
        is_judged = is_judged and fan_permille >= limits.FAN_FULL_PERMILLE
        self._on_s = min(limits.FAN_SLOW_S, self._on_s + 1) if is_judged else 0
        if self._on_s < limits.FAN_SLOW_S or self._said:
            self.renew(product_mc)
            return False
        self._add(max(0, product_mc - room_mc) // 100, fan_permille)
        per_k = self._mass_g * limits.SPECIFIC_J_PER_KG_K // 1000 + self._config.plate_j_per_k
        if 1000 * self._described_j // per_k < limits.FAN_FALL_MC:
            return False
        fallen_mc = self._from_mc - product_mc
        self._said = 1 if fallen_mc < 1000 * self._least_j // per_k else 0
        self.renew(product_mc)
        return bool(self._said)

    def _add(self, over_dc, fan_permille):
        """What this second takes away, as described and at the least; `over_dc` in 0.1 K."""
        still_mw = over_dc * self._config.loss_mw_per_k // 10
        fan_mw = over_dc * self._config.fan_loss_mw_per_k // 10 * fan_permille // 1000
        self._rest_mj += still_mw + fan_mw
        self._least_rest_mj += still_mw + fan_mw // limits.FAN_PARTS
        self._described_j += self._rest_mj // 1000
        self._least_j += self._least_rest_mj // 1000
        self._rest_mj %= 1000
        self._least_rest_mj %= 1000
