"""The interlocks that look once a second: what the heat of the last second did.

Works on Interlocks; allocates nothing after it is made.
"""

from rigfw import limits
from rigfw.fancheck import FanCheck
from rigfw.rise import RiseCheck
from rigfw.witness import AHEAD_ONLY, ALL, NOTHING, Witness
from rigwire.messages import MISSING_MC

NO_RISE = 6
HEAT_UNASKED = 13
COOLING = ("cool", "seed")
MELTING = ("melt", "rest")
HELD = ("rewarm", "work")


class Seconds:
    """`judge` answers the stop code, 0 for none; it may ask the Interlocks for a pause."""

    def __init__(self, config):
        self._config = config
        self._rise = RiseCheck(config)
        self.witness = Witness(config)
        self._fan = FanCheck(config)
        self.is_fan_dead = 0
        self._highest_mc = MISSING_MC
        self._had_fan = self._pieces_s = 0

    def begin(self, product_mc, mass_g):
        """A batch begins."""
        self._rise.begin(product_mc, mass_g)
        self.witness.begin(mass_g)
        self._fan.begin(mass_g)
        self.is_fan_dead = self._had_fan = self._pieces_s = 0

    def begin_step(self, product_mc):
        """A step begins: from here a fall is judged."""
        self.witness.begin_step(product_mc)
        self._fan.begin_step()
        self._highest_mc = product_mc

    def believe(self, product_mc):
        """One more believed reading."""
        self._highest_mc = max(self._highest_mc, product_mc)

    def renew(self, product_mc):
        """Something is added or taken out: heat from before need not show any more."""
        self._rise.renew(product_mc)
        self.witness.renew()

    def after_pause(self, product_mc, is_declared):
        """What was only taken for hands may be a dead heater, so its heat still counts."""
        self._highest_mc = product_mc
        self.witness.after_pause()
        self._rise.after_pause()
        if is_declared:
            self._rise.renew(product_mc)

    def judge(self, locks, heat_permille, room_mc, target_mc, kind, fan_permille):
        """`heat_permille` is what the switch gave, `kind` "" in a test of outputs."""
        product_mc, plate_mc = locks.product_mc, locks.known_plate_mc()
        if locks.withhold_code:
            self._highest_mc = product_mc  # it may cool: that is what withholding does
        self._judge_fall(locks, kind, fan_permille)
        if locks.is_blurred():
            self._fan.renew(product_mc)
        self.is_fan_dead = self._fan.second(product_mc, room_mc, fan_permille)
        if self._config.checks_off & limits.OFF_BALANCE:
            return 0
        self._witness(locks, heat_permille, room_mc, kind, fan_permille)
        if self.witness.unasked:
            return HEAT_UNASKED
        if self.witness.is_dead:
            return NO_RISE
        if self._rise.second(heat_permille, product_mc, plate_mc, room_mc, target_mc):
            return NO_RISE
        return 0

    def _judge_fall(self, locks, kind, fan_permille):
        if not kind:
            self._judge_fall_in_test(locks, fan_permille)
            return
        falling = self._highest_mc - locks.product_mc > limits.DROP_MC
        if kind not in COOLING and falling and locks.addition_ms <= 0:
            locks.pause(self._highest_mc)
        before_mc = self._lately_mc(locks)
        if kind == "seed" and before_mc - locks.product_mc > limits.SEED_FALL_MC:
            locks.pause(before_mc)  # no cold handful takes it down so far

    def _judge_fall_in_test(self, locks, fan_permille):
        """Since the fan last ran and in the last minutes: still air takes a bowl down slowly."""
        if fan_permille:  # cooling on purpose
            self._highest_mc = locks.product_mc
        before_mc = self._lately_mc(locks)
        if before_mc - locks.product_mc > limits.DROP_MC:
            locks.pause(before_mc)

    def _lately_mc(self, locks):
        """The warmest since there is something to fall from, and of the last minutes."""
        return min(self._highest_mc, locks.recent.highest_mc())

    def _witness(self, locks, heat_permille, room_mc, kind, fan_permille):
        self.witness.in_melt(kind in MELTING)
        self.witness.is_seeding = kind == "seed"
        is_held = kind in HELD or (kind == "rest" and not self._pieces_s)
        self.witness.may_part = is_held and not locks.is_handled()
        how_much = self._how_much(locks, kind, room_mc, fan_permille)
        if self._had_fan and not fan_permille:
            self.witness.renew()
        self._had_fan = fan_permille
        self._pieces_s = max(0, self._pieces_s - 1)
        # Pieces take it down within minutes, not a landing; then it must come back.
        before_mc = self._highest_mc if self._pieces_s else self._lately_mc(locks)
        if before_mc - locks.product_mc > limits.DIP_MC:
            self._pieces_s = limits.PIECES_S
        part = limits.BALANCE_POURED_PERCENT if kind == "work" else 100
        heat_mw = heat_permille * self._config.heater_w
        lost_mw = self._lost_mw(locks.product_mc, room_mc)
        product_mc, plate_mc = locks.product_mc, locks.known_plate_mc()
        may_melt = kind in MELTING and (self._pieces_s > 0 or product_mc < limits.MELTED_MC)
        self.witness.second(heat_mw, lost_mw, product_mc, plate_mc, how_much, part, may_melt)
        if self.witness.doubt:
            locks.doubt()

    def _how_much(self, locks, kind, room_mc, fan_permille):
        """A fan takes an unknown part of the heat, but gives none. A ladle and hands blur
        everything."""
        if not kind or locks.is_blurred():
            return NOTHING
        if fan_permille:
            return AHEAD_ONLY if room_mc < locks.product_mc else NOTHING
        if kind == "cool":
            return AHEAD_ONLY
        return ALL

    def _lost_mw(self, product_mc, room_mc):
        if room_mc == MISSING_MC:
            room_mc = limits.USUAL_ROOM_MC
        return max(0, product_mc - room_mc) // 100 * self._config.loss_mw_per_k // 10
