"""What readings and contacts say of each other: probe in the bowl, heat as asked, stirrer turning.

The doubts about a reading end in a pause, because a cold ladle looks like a probe taken out. The
way back from that pause goes by the plate, which nobody takes out, or by a press. Integers only,
nothing is allocated after it is made.
"""

from rigfw import limits
from rigfw.balance import AHEAD, BEHIND, FINE, Balance
from rigwire.messages import MISSING_MC

# How much is judged in a step.
NOTHING = 0
AHEAD_ONLY = 1
ALL = 2


class Witness:
    """`doubt` 1 asks for a pause; `needs_press` 1: only a press ends it. `unasked` 1 stops, and so
    does `is_dead` 1: heat is asked for and neither plate nor chocolate has any of it. `is_gentle`
    1: somebody pressed a doubt away, so there is little heat until the reading does rise."""

    def __init__(self, config):
        self._config = config
        self._balance = Balance(config, limits.BALANCE_SLOT_S)
        self._long = Balance(config, limits.BALANCE_LONG_SLOT_S)
        self._last_mc = self._gentle_from_mc = MISSING_MC
        self._plate_low_mc = self._plate_high_mc = MISSING_MC
        self._mass_g = self.is_seeding = self.may_part = 0
        self.in_melt(True)
        self.begin(0)

    def begin(self, mass_g):
        """A batch begins."""
        self._mass_g = mass_g
        self._balance.begin(mass_g)
        self._long.begin(mass_g)
        self._unseen_mj = 0
        self._lowest_mc = limits.PRODUCT_HIGH_MC
        self.doubt = self.unasked = self.is_dead = self.needs_press = self.is_gentle = 0
        self._since_doubt_ms = limits.DOUBTS_MS
        self.earlier_mc = MISSING_MC
        self._same_s = self._moved_s = self._ahead_s = self._off_s = self._mean_mw = 0
        self._ahead_from_mc = self._idle_low_mc = MISSING_MC
        self._quick_mw = self._apart_s = 0
        self._rest_mc = limits.APART_REST_MC

    def begin_step(self, product_mc):
        """A press is not made good by a step's end: the reading must still rise."""
        if self._liquid_mc:  # a hot plate gives the room much of what it gets: not so in the next
            self._rest_mc = limits.APART_REST_MC
        self._gentle_from_mc = min(self._gentle_from_mc, product_mc)

    def in_melt(self, is_melting):
        """Whether blocks may lie in the bowl: they take the plate's heat slowly."""
        self._liquid_mc = limits.MELTED_MC if is_melting else 0
        self._parts = limits.AHEAD_MELT_PARTS if is_melting else limits.AHEAD_PARTS

    def after_pause(self):
        """Nothing was heated meanwhile, so the mean heat is none."""
        self._mean_mw = self._ahead_s = self._apart_s = 0
        self.renew()

    def renew(self):
        """Hands, an addition, a new step: what was before says nothing."""
        self._renew_balances()
        self._same_s = 0

    def _renew_balances(self):
        self._balance.renew()
        self._long.renew()

    def answered(self, product_mc, is_far_down):
        """A person looked and pressed, at this reading. `is_far_down`: it had fallen far, and
        nothing cold makes it stay there."""
        if is_far_down or self._since_doubt_ms < limits.DOUBTS_MS:
            self.is_gentle = 1
            self._gentle_from_mc = product_mc
        self.needs_press = self.doubt = 0
        self._rest_mc = min(self._rest_mc + limits.APART_REST_MC, limits.APART_MOST_MC)
        self._since_doubt_ms = limits.DOUBTS_MS

    def second(self, heat_mw, lost_mw, product_mc, plate_mc, how_much, least_part, may_melt):
        """One second of a step. See Balance.second; `how_much` is NOTHING, AHEAD_ONLY or ALL."""
        self.doubt = self.unasked = self.is_dead = 0
        self._since_doubt_ms = min(limits.DOUBTS_MS, self._since_doubt_ms + 1000)
        if product_mc >= self._gentle_from_mc + limits.RISE_MC:
            self.is_gentle = 0
        self._repeats(product_mc, plate_mc)
        self._runs_ahead(heat_mw, product_mc, plate_mc, how_much)
        self._rises_idle(product_mc, plate_mc, how_much)
        self._goes_unseen(heat_mw, lost_mw, product_mc, plate_mc, how_much)
        if self.may_part and plate_mc != MISSING_MC:
            self._comes_apart(product_mc, plate_mc, least_part)
        if how_much == NOTHING:
            self._renew_balances()
            return
        verdict = self._balance.second(
            heat_mw, lost_mw, product_mc, plate_mc, least_part, may_melt
        )
        later = FINE
        if plate_mc == MISSING_MC or may_melt:  # the loss, or melting, may explain it
            self._long.renew()
        else:
            later = self._long.second(heat_mw, lost_mw, product_mc, plate_mc, least_part, 0)
        if verdict == FINE and later == BEHIND:  # a heavy bowl moves too little in two minutes
            verdict = BEHIND
        if verdict == AHEAD and plate_mc != MISSING_MC and plate_mc <= product_mc:
            self._balance.renew()  # heat comes through the plate: something warm went in
        elif verdict == AHEAD and product_mc > self.earlier_mc:
            self.unasked = 1  # else it comes back to where it was before hands took it down
        elif verdict == BEHIND and how_much == ALL:
            if self._is_plate_hot(product_mc, plate_mc):
                self._doubt(plate_mc)
            elif self._mean_mw * limits.DEAD_PARTS >= 1000 * self._config.heater_w:
                self.is_dead = 1

    def _doubt(self, plate_mc):
        self._renew_balances()
        self.doubt = 1
        if plate_mc == MISSING_MC and self._since_doubt_ms < limits.DOUBTS_MS:
            self.needs_press = 1
        self._since_doubt_ms = 0

    def _repeats(self, product_mc, plate_mc):
        """A plate that moves under a reading that never flickers: the reading is stuck."""
        if plate_mc == MISSING_MC:
            self._same_s = 0
            return
        if product_mc != self._last_mc or not self._same_s:
            self._last_mc = product_mc
            self._same_s = 0
            self._plate_low_mc = self._plate_high_mc = plate_mc
        self._same_s += 1
        self._plate_low_mc = min(self._plate_low_mc, plate_mc)
        self._plate_high_mc = max(self._plate_high_mc, plate_mc)
        moved_mc = self._plate_high_mc - self._plate_low_mc
        self._moved_s = self._moved_s + 1 if moved_mc >= limits.REPEAT_PLATE_MC else 0
        if self._same_s >= limits.REPEAT_S and self._moved_s >= limits.REPEAT_AFTER_S:
            self._same_s = 0
            self.doubt = self.needs_press = 1

    def _runs_ahead(self, heat_mw, product_mc, plate_mc, how_much):
        """A plate far hotter than its mean heat makes it over liquid chocolate: heat unasked."""
        self._mean_mw += (heat_mw - self._mean_mw) // limits.GAP_MEAN_S
        self._quick_mw += (heat_mw - self._quick_mw) // limits.APART_MEAN_S
        self._off_s = 0 if heat_mw else self._off_s + 1
        allowed_mc = self._parts * self._mean_mw // self._config.plate_w_per_k
        allowed_mc += limits.AHEAD_MC
        if self._off_s >= limits.AHEAD_OFF_S:
            allowed_mc = limits.WITNESS_MC
        is_ahead = plate_mc - product_mc > allowed_mc
        is_judged = how_much != NOTHING and product_mc >= self._liquid_mc
        # A plate that cools gets no heat: then it is the reading that fell, or a bowl that clots.
        is_cooling = plate_mc < self._ahead_from_mc - limits.PLATE_STEP_MC
        if not is_ahead or not is_judged or is_cooling:
            self._ahead_s = 0
            self._ahead_from_mc = plate_mc
        else:
            self._ahead_s += 1
        if self._ahead_s < limits.BALANCE_AHEAD_S:
            return
        if product_mc > self.earlier_mc + limits.PLATE_STEP_MC // 2:
            self.unasked = 1
        else:  # the reading stays: it is not in the chocolate, or the bowl is as good as empty
            self._ahead_s = 0
            self._doubt(plate_mc)

    def _comes_apart(self, product_mc, plate_mc, least_part):
        """The plate leaves the reading behind by more than its heat makes it.

        By how much they differ without heat, their probes' offsets, is learned all the time:
        soon where it is less, slowly where it is more. Over a reading that rises it is heat that
        nobody asked for; while blocks may lie in the bowl, nothing else is told.
        """
        heat_mw = max(self._quick_mw, (2 * self._mean_mw + self._quick_mw) // 3)
        heat_mc = heat_mw // self._config.plate_w_per_k
        more_mc = plate_mc - product_mc - heat_mc - self._rest_mc
        is_apart = more_mc > limits.APART_MC + heat_mc // limits.APART_PARTS
        if least_part < 100:  # a bowl half poured out leaves its plate hotter, but is held
            is_apart = is_apart and product_mc < self.earlier_mc - limits.STEADY_MC
        self._apart_s = max(0, self._apart_s + (1 if is_apart else -1))
        self._rest_mc += limits.APART_UP_MC if more_mc > 0 else -limits.APART_DOWN_MC
        self._rest_mc = max(self._rest_mc, -limits.APART_MOST_MC)
        if self._apart_s < limits.BALANCE_BEHIND_S:
            return
        is_rising = product_mc > self.earlier_mc + limits.PLATE_STEP_MC // 2
        if is_rising and more_mc > heat_mc + limits.APART_MC:
            self.unasked = 1  # half of the coupling would not explain the plate either
        elif not self._liquid_mc:
            self._apart_s = 0
            self._doubt(plate_mc)

    def _rises_idle(self, product_mc, plate_mc, how_much):
        """A plate that nothing heats goes towards its chocolate: one that rises past it is heated.

        Past the warmest of the last minutes: a scraper takes the reading down, not the chocolate,
        and a plate that a fan had cooled comes up again.
        """
        if self._off_s <= limits.IDLE_S or self._off_s % limits.IDLE_WINDOW_S == 0:
            self._idle_low_mc = plate_mc
        self._idle_low_mc = min(self._idle_low_mc, plate_mc)
        is_hotter = plate_mc > max(product_mc, self.earlier_mc) + limits.BALANCE_GAP_MC
        if how_much != NOTHING and is_hotter and plate_mc >= self._idle_low_mc + limits.IDLE_MC:
            self.unasked = 1

    def _goes_unseen(self, heat_mw, lost_mw, product_mc, plate_mc, how_much):
        """Heat that no rise shows, from the seed on, where no plate is measured."""
        is_judged = self.is_seeding or (how_much == ALL and not self._liquid_mc)
        if not is_judged or plate_mc != MISSING_MC:
            self._unseen_mj = 0
            self._lowest_mc = product_mc
            return
        per_k = self._mass_g * limits.SPECIFIC_LEAST_J_PER_KG_K // 1000
        least_mw = heat_mw * (100 - limits.BALANCE_HEAT_PERCENT) // 100
        least_mw -= lost_mw * (100 + limits.BALANCE_LOSS_PERCENT) // 100
        self._lowest_mc = min(self._lowest_mc, product_mc)
        if product_mc >= self._lowest_mc + limits.IDLE_MC:
            least_mw -= per_k * (product_mc - self._lowest_mc)
            self._lowest_mc = product_mc
        self._unseen_mj = max(0, self._unseen_mj + least_mw)
        gap_mk = self._mean_mw // self._config.plate_w_per_k
        is_wary = self.is_seeding or self.is_gentle or self._since_doubt_ms < limits.DOUBTS_MS
        allowed_mc = limits.UNSEEN_WARY_MC if is_wary else limits.UNSEEN_MC
        if self._unseen_mj > per_k * allowed_mc + self._config.plate_j_per_k * gap_mk:
            self._unseen_mj = 0
            self._doubt(plate_mc)

    def _is_plate_hot(self, product_mc, plate_mc):
        """Heat does arrive: a plate that stays as cold as its chocolate has a dead heater."""
        return plate_mc == MISSING_MC or plate_mc > product_mc + limits.STEADY_MC

    def may_return(self, product_mc, plate_mc):
        """At rest, without heat, the plate comes to what the chocolate really has.

        Asked after a doubt, and after every fall in a bowl that is held.
        """
        if self.needs_press:
            return False
        if self._since_doubt_ms >= limits.DOUBTS_MS and not self.may_part:
            return True
        most_mc = min(self._rest_mc + limits.APART_REST_MC, limits.WITNESS_MC)
        return plate_mc - product_mc <= most_mc  # MISSING_MC is colder than any bowl


class SwitchCheck:
    """The heater's node, sensed: live though the switch was told to be off."""

    def __init__(self):
        self._live_ms = 0

    def is_shorted(self, heat_on, is_live, passed_ms):
        """`heat_on` is what the pass before wrote. True after SENSE_MS of heat nobody wants."""
        self._live_ms = self._live_ms + passed_ms if is_live and not heat_on else 0
        return self._live_ms >= limits.SENSE_MS


class StallCheck:
    """The stirrer's tachometer: driven and still.

    The tachometer itself calls a stirrer turning until no pulse came for 3 s; a stirrer that was
    just switched on gets as long to begin.
    """

    def __init__(self):
        self._driven_ms = 0

    def is_stalled(self, stir_permille, is_turning, passed_ms):
        """True while it was driven for STALL_MS and more and does not turn."""
        self._driven_ms = min(limits.STALL_MS, self._driven_ms + passed_ms) if stir_permille else 0
        return self._driven_ms >= limits.STALL_MS and not is_turning
