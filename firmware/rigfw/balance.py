"""The heat that went in against the temperatures that came out, over the last minutes.

Plate and chocolate together hold, since a moment in the past, (heat given) - (loss to the room).
What the plate holds of it is measured, so the chocolate should have moved by the rest over its
heat capacity. A reading that stays behind is not in the chocolate, or stuck; one that runs ahead
says that heat flows which nobody asked for. Every figure of the rig is taken at the end of its
doubt that accuses least. Integers only, nothing is allocated after it is made.
"""

from array import array

from rigfw import limits
from rigwire.messages import MISSING_MC

BEHIND = 1
AHEAD = 2
FINE = 0


class Balance:
    """`second` is called once a second in a step and answers FINE, BEHIND or AHEAD.

    It looks back over BALANCE_SLOTS times `slot_s` seconds.
    """

    def __init__(self, config, slot_s):
        self._config = config
        self._slot_s = slot_s
        slots = limits.BALANCE_SLOTS
        self._product_mc = array("i", bytes(4 * slots))
        self._plate_mc = array("i", bytes(4 * slots))
        self._heat_j = array("i", bytes(4 * slots))
        self._lost_j = array("i", bytes(4 * slots))
        self._at = 0  # the slot that is oldest, in a ring: any will do to begin with
        self._start(MISSING_MC, MISSING_MC)  # every attribute there is: none is made in a pass
        self.begin(0)

    def begin(self, mass_g):
        """A batch of this mass begins."""
        self._mass_g = max(mass_g, 1)
        self._is_empty = 1

    def renew(self):
        """Hands, an addition or the fan: what was before says nothing of what comes."""
        self._is_empty = 1

    def second(self, heat_mw, lost_mw, product_mc, plate_mc, least_part, may_melt):
        """`heat_mw` is what the switch gave in the last second, `lost_mw` the described loss.

        `plate_mc` MISSING_MC where no plate probe is. `least_part` is the share of the mass, in
        percent, that may be all that is left in the bowl. `may_melt` 1: fat may take all heat, so
        the chocolate need not rise; falling is another matter.
        """
        if self._is_empty:
            self._start(product_mc, plate_mc)
            return FINE
        self._add(heat_mw, lost_mw)
        self._age_s += 1
        if self._age_s >= self._slot_s:
            self._age_s = 0
            self._next_slot(product_mc, plate_mc)
        return self._judge(product_mc, plate_mc, least_part, may_melt)

    def _start(self, product_mc, plate_mc):
        self._is_empty = 0
        self._age_s = self._bad_s = 0
        self._heat_now_j = self._heat_rest_mj = 0
        self._lost_now_j = self._lost_rest_mj = 0
        for at in range(limits.BALANCE_SLOTS):
            self._put(at, product_mc, plate_mc)

    def _put(self, at, product_mc, plate_mc):
        self._product_mc[at] = product_mc
        self._plate_mc[at] = plate_mc
        self._heat_j[at] = self._heat_now_j
        self._lost_j[at] = self._lost_now_j

    def _next_slot(self, product_mc, plate_mc):
        """The oldest slot is taken for now; the one after it is the oldest then."""
        self._put(self._at, product_mc, plate_mc)
        self._at = (self._at + 1) % limits.BALANCE_SLOTS

    def _add(self, heat_mw, lost_mw):
        self._heat_rest_mj += heat_mw
        self._heat_now_j += self._heat_rest_mj // 1000
        self._heat_rest_mj %= 1000
        self._lost_rest_mj += max(0, lost_mw)
        self._lost_now_j += self._lost_rest_mj // 1000
        self._lost_rest_mj %= 1000

    def _judge(self, product_mc, plate_mc, least_part, may_melt):
        at = self._at
        moved_mc = product_mc - self._product_mc[at]
        heat_j = self._heat_now_j - self._heat_j[at]
        lost_j = self._lost_now_j - self._lost_j[at]
        held_j = doubt_j = 0
        if plate_mc != MISSING_MC and self._plate_mc[at] != MISSING_MC:
            held_j = self._config.plate_j_per_k * (plate_mc - self._plate_mc[at]) // 1000
            doubt_j = abs(held_j) * limits.BALANCE_PLATE_PERCENT // 100
        else:  # a plate that nobody measures may hold this much more, or less, than it did
            doubt_j = self._config.plate_j_per_k * limits.BALANCE_PLATE_MC // 1000
        doubt_j += heat_j * limits.BALANCE_HEAT_PERCENT // 100
        doubt_j += lost_j * limits.BALANCE_LOSS_PERCENT // 100
        net_j = heat_j - lost_j - held_j
        verdict = FINE
        least_j = min(net_j - doubt_j, 0) if may_melt else net_j - doubt_j
        if moved_mc < self._least_mc(least_j) - limits.BALANCE_MC:
            verdict = BEHIND
        elif moved_mc > self._most_mc(net_j + doubt_j, least_part) + limits.BALANCE_MC:
            verdict = AHEAD
        self._bad_s = self._bad_s + 1 if verdict else 0
        by_plate = plate_mc > product_mc + limits.BALANCE_GAP_MC  # MISSING_MC is colder than all
        return verdict if self._bad_s >= _patience_s(verdict, by_plate) else FINE

    def _least_mc(self, net_j):
        """The least that chocolate moves by this heat: as much of it, as slow as it can be."""
        per_k = self._mass_g * limits.SPECIFIC_J_PER_KG_K // 1000
        if net_j < 0:
            per_k = self._mass_g * limits.SPECIFIC_LEAST_J_PER_KG_K // 1000
        return _bounded(net_j) * 1000 // max(per_k, 1)

    def _most_mc(self, net_j, least_part):
        """The most that it moves: as little of it as may be left."""
        per_k = self._mass_g * limits.SPECIFIC_J_PER_KG_K // 1000
        if net_j > 0:
            per_k = self._mass_g * limits.SPECIFIC_LEAST_J_PER_KG_K // 1000 * least_part // 100
        return _bounded(net_j) * 1000 // max(per_k, 1)


def _patience_s(verdict, by_plate):
    """How long a verdict must stand. A ladle does not make the plate hotter than its bowl."""
    if verdict == BEHIND:
        return limits.BALANCE_BEHIND_S
    return limits.BALANCE_PLATE_S if by_plate else limits.BALANCE_AHEAD_S


def _bounded(joule):
    """Within what keeps the product a small integer on the board."""
    return max(-1000000, min(1000000, joule))
