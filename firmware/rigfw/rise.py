"""No rise while heating: element dead, cut-out open, probe out of the bowl, reading stuck.

With a plate probe the plate is judged: in the mean it must be hotter than the chocolate by a part
of (mean heat less the greatest loss) / (plate to chocolate, W/K). The chocolate is judged on every
rig: an amount of heat that melts all its fat (greatest latent heat) or, once melted, warms it by
RISE_MC even with the greatest loss must have moved it by half of that. Integers only, nothing is
allocated.
"""

from rigfw import limits
from rigwire.messages import MISSING_MC


class RiseCheck:
    """Energy in J since the window began; `second` is called once a second."""

    def __init__(self, config):
        self._config = config
        self._mass_g = 0
        self.begin(MISSING_MC, 0)

    def begin(self, product_mc, mass_g):
        """Forget the past: a batch begins."""
        self._mass_g = mass_g
        self._mean_mw = 0
        self.renew(product_mc)

    def renew(self, product_mc):
        """Hands were in, or something goes in: heat from before need not show any more."""
        self._gap_ms = 0
        self._restart(product_mc)

    def after_pause(self):
        """The plate gave its heat off meanwhile: the mean heat, and so its seconds, begin anew."""
        self._mean_mw = 0

    def _restart(self, product_mc):
        self._from_mc = self._least_mc = product_mc
        self._energy_mj = 0
        self._energy_j = 0

    def second(self, heat_permille, product_mc, plate_mc, room_mc, target_mc):
        """True when heat went in and nothing rose. Temperatures mC, MISSING_MC where unknown.

        `heat_permille` is what the switch gave in the last second.
        """
        loss_mw = self._loss_mw(product_mc, room_mc)
        heat_mw = heat_permille * self._config.heater_w
        is_plate_cold = False
        if plate_mc != MISSING_MC:
            is_plate_cold = self._plate(heat_mw, product_mc, plate_mc, loss_mw)
        if target_mc - product_mc < limits.CLIMB_MC:
            self._restart(product_mc)
            return is_plate_cold
        return self._chocolate(heat_mw - loss_mw, product_mc) or is_plate_cold

    def _plate(self, heat_mw, product_mc, plate_mc, loss_mw):
        """The plate's own loss never reaches the chocolate, so the whole loss is taken off."""
        self._mean_mw += (heat_mw - self._mean_mw) // limits.GAP_MEAN_S
        net_mw = self._mean_mw - loss_mw
        expected_mc = net_mw // self._config.plate_w_per_k
        enough = net_mw >= limits.GAP_LEAST_PERMILLE * self._config.heater_w
        gap_mc = plate_mc - product_mc
        is_gone = enough and gap_mc * limits.GAP_PART < expected_mc
        # Whatever the loss is: half of all heat makes a plate hotter than what lies on it.
        half_mw = limits.GAP_HALF_PERMILLE * self._config.heater_w
        if self._mean_mw >= half_mw and gap_mc <= 0:
            is_gone = True
        # A plate with more heat than it can lose itself is no colder than what lies on it.
        kept_mw = self._mean_mw - loss_mw // 2
        is_swapped = kept_mw >= limits.GAP_SWAPPED_PERMILLE * self._config.heater_w
        if is_swapped and gap_mc <= -limits.BALANCE_GAP_MC:
            is_gone = True
        # While heat goes on, one with less than half of what it must have falls for want of it.
        is_falling = net_mw >= half_mw and 2 * heat_mw >= self._mean_mw
        if not is_gone and not (is_falling and 2 * gap_mc < expected_mc):
            self._gap_ms = 0
            return False
        if not self._gap_ms:
            self._gap_from_mc = plate_mc
        self._gap_ms += 1000
        has_fallen = plate_mc < self._gap_from_mc - limits.STEADY_MC
        return self._gap_ms >= limits.GAP_MS and (is_gone or has_fallen)

    def _chocolate(self, net_mw, product_mc):
        if product_mc - self._from_mc >= limits.RISE_MC // 2:  # from MISSING_MC all is a rise
            self._restart(product_mc)
        self._least_mc = min(self._least_mc, product_mc)
        self._energy_mj += net_mw
        self._energy_j += self._energy_mj // 1000
        self._energy_mj %= 1000
        if self._energy_j < 0:
            self._restart(product_mc)
        return self._energy_j >= self._needed_j()

    def _loss_mw(self, product_mc, room_mc):
        if room_mc == MISSING_MC:
            room_mc = limits.COLD_ROOM_MC
        over_c = max(0, product_mc - room_mc) // 1000
        return over_c * self._config.loss_mw_per_k * limits.LOSS_WIDER_PERCENT // 100

    def _needed_j(self):
        """Heat that must have shown as RISE_MC, whatever state the fat is in.

        The plate takes some first: as much as it holds at the greatest flow through it. What
        cold pieces took, seen as a fall, must come back first; they may melt as well.
        """
        config = self._config
        per_k = self._mass_g * limits.SPECIFIC_J_PER_KG_K // 1000 + config.plate_j_per_k
        fallen_mc = self._from_mc - self._least_mc
        needed_j = per_k * (limits.RISE_MC + fallen_mc) // 1000
        needed_j += config.plate_j_per_k * config.heater_w // config.plate_w_per_k
        if self._from_mc < limits.MELTED_MC or fallen_mc >= limits.DIP_MC:
            needed_j += self._mass_g * limits.LATENT_J_PER_KG // 1000
        return needed_j
