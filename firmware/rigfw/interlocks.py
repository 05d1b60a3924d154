"""The checks that can only take power away.

They know limits, readings and what the heater was told; they know nothing of the regulator and
hold when it misbehaves. Integers only; `judge` and `each_second` allocate nothing. `stop_code`
latches the rig, `withhold_code` keeps heat at 0 while it lasts, `hands` asks for a pause.
"""

from rigfw import limits
from rigfw.calm import Calm
from rigfw.hot import HotCheck
from rigfw.numbers import BY_DOUBT, BY_READING
from rigfw.plate import PlateCheck, strongest_permille
from rigfw.recent import Recent
from rigfw.seconds import Seconds
from rigwire.messages import MISSING_MC

PROBE_MISSING = 1
PROBE_RANGE = 2
PROBE_JUMP = 3
CHOCOLATE_HOT = 4
PLATE_HOT = 5
STOP_LOOP = 7
UNATTENDED = 8
PLATE_MISSING = 10

FULL = 1000


class Interlocks:
    """All checks of one rig. `product_mc` is the last believed reading, MISSING_MC when none.

    `is_cold_expected` 1: a cold handful is due or just went in, so a fall is no jump. What a probe
    in air could do then is bounded by the step's wall limit.
    """

    def __init__(self, config, clock):
        self._config = config
        self._clock = clock
        self.recent = Recent()
        self._hot = HotCheck(config)
        self._plate = PlateCheck(config)
        self._calm = Calm()
        self.seconds = Seconds(config)
        self._is_unwatched = not (config.has_plate or config.has_sense)
        self.product_mc = MISSING_MC
        self.stop_code = self.stop_value = 0
        self.withhold_code = self.withhold_value = 0
        self.hands = 0
        self.heat_limit_permille = FULL
        self.is_cold_expected = 0
        self.addition_ms = self.alone_ms = self.unsettled_ms = 0
        self._product_at_ms = self._plate_at_ms = -1
        self.begin(MISSING_MC, 0, 0)

    def begin(self, product_mc, product_at_ms, mass_g):
        """A batch begins with a good reading: nothing is remembered against it."""
        self.stop_code = self.withhold_code = self.hands = 0
        self.product_mc = product_mc
        self.alone_ms = self.addition_ms = self.unsettled_ms = 0
        self._good_ms = self._heard_ms = product_at_ms
        self._odd_reads = self._range_reads = 0
        self._plate.begin(product_at_ms)
        self.before_mc = product_mc
        self._calm.begin(product_mc)
        self.seconds.begin(product_mc, mass_g)
        self._mass_g = mass_g
        self._strong_permille = strongest_permille(self._config, mass_g, 0)
        self.recent.begin(product_mc)
        self._hot.begin(mass_g)
        self.begin_step(product_mc)

    def begin_step(self, product_mc):
        """A step begins: its ceiling falls from here with the measured minimum."""
        self.seconds.begin_step(product_mc)
        self._hot.begin_step(product_mc, self.recent.highest_mc())

    def renew(self):
        """Somebody is here."""
        self.alone_ms = 0

    def declare(self, poured_g):
        """Something is added or taken out: wider checks and little heat for a while."""
        self._strong_permille = strongest_permille(self._config, self._mass_g, poured_g)
        self.addition_ms = limits.ADDITION_MS
        self.seconds.renew(self.product_mc)

    # Once a pass.

    def judge(self, readings, now_ms, passed_ms, target_mc, wall_mc, in_pause):
        """Fill stop, withhold and limit from what is known now.

        `target_mc` and `wall_mc` are those of the step; `in_pause` is 1 while hands are in.
        """
        self.withhold_code = self.hands = 0
        self.alone_ms += passed_ms
        if self.addition_ms > 0:
            self.addition_ms -= passed_ms
        if not in_pause:
            self._pass_time(passed_ms)
        if readings.product_at_ms != self._product_at_ms:
            self._product_at_ms = readings.product_at_ms
            if readings.product_mc != MISSING_MC:
                self._new_product(readings.product_mc, in_pause)
        if readings.plate_at_ms != self._plate_at_ms:
            self._plate_at_ms = readings.plate_at_ms
            if readings.plate_mc != MISSING_MC:
                self._new_plate(readings.plate_mc)
        self._judge_doubt(readings.product_mc)
        self._judge_ages(readings, now_ms)
        self._judge_plate(wall_mc)
        if not in_pause:
            self._judge_hot(target_mc, passed_ms)
        if self.alone_ms >= 1000 * self._config.attended_limit_s:
            self._withhold(UNATTENDED, self.alone_ms // 1000)
        self.heat_limit_permille = self._strong_permille
        if self.addition_ms > 0 or self.seconds.witness.is_gentle:
            self.heat_limit_permille = min(self._strong_permille, limits.ADDITION_HEAT_PERMILLE)
        if self.unsettled_ms > 0 or (self._hot.is_warm and self._is_unwatched):
            self.heat_limit_permille = 0

    def _pass_time(self, passed_ms):
        """Hands stop the clock of what the chocolate was; a probe needs time after them."""
        self.recent.tick(passed_ms, self.product_mc)
        if self.unsettled_ms > 0:
            self.unsettled_ms -= passed_ms

    def _stop(self, code, value):
        """The first cause stays the cause."""
        if not self.stop_code:
            self.stop_code = code
            self.stop_value = value

    def _withhold(self, code, value):
        if not self.withhold_code:
            self.withhold_code = code
            self.withhold_value = value

    def _new_product(self, product_mc, in_pause):
        if product_mc <= limits.PRODUCT_LOW_MC or product_mc > limits.PRODUCT_HIGH_MC:
            self._range_reads += 1
            if self._range_reads >= limits.RANGE_READS:
                self._stop(PROBE_RANGE, product_mc)
            return
        self._range_reads = 0
        self._heard_ms = self._product_at_ms
        if self._is_jump(product_mc) and not in_pause:
            self._jump(product_mc)
            return
        self._believe(product_mc)
        if not in_pause:
            self.recent.note(product_mc)

    def _believe(self, product_mc):
        self.product_mc = product_mc
        self._good_ms = self._product_at_ms
        self._odd_reads = 0
        self._hot.believe(product_mc)
        self.seconds.believe(product_mc)

    def _is_jump(self, product_mc):
        """Faster from the last believed reading than this mass can move."""
        if self.product_mc == MISSING_MC:
            return False
        passed_ms = max(0, self._clock.diff(self._product_at_ms, self._good_ms))
        allowed_mc = limits.JUMP_MC_PER_S * passed_ms // 1000
        if self.addition_ms > 0:
            allowed_mc *= 2
        moved_mc = product_mc - self.product_mc
        recent_mc = self.recent.highest_mc()
        if (
            self.is_cold_expected
            and recent_mc - limits.SEED_FALL_MC <= product_mc < self.product_mc
        ):
            return False
        if 0 < moved_mc and product_mc <= recent_mc + limits.STEADY_MC:
            return False  # back to where it was before hands or cold pieces took it down
        return not -allowed_mc <= moved_mc <= allowed_mc

    def _jump(self, product_mc):
        """An odd read keeps heat off. Gone on too far: a great rise stops.

        A fall, and a rise that a warm ladle can make, are taken for hands. A small fall that goes
        on is believed: a scraper sweeps the probe along the wall.
        """
        self._odd_reads += 1
        moved_mc = product_mc - self.product_mc
        if self._odd_reads < limits.JUMP_READS:
            return
        if moved_mc > limits.JUMP_MC + limits.ADDITION_WIDER_MC:
            self._stop(PROBE_JUMP, product_mc)
        elif moved_mc > limits.JUMP_MC:
            self._believe(product_mc)
            self._hot.feed()
            self.pause(product_mc)
        elif moved_mc < 0:
            before_mc = self.product_mc
            self._believe(product_mc)
            if -moved_mc > limits.JUMP_MC:
                self.pause(before_mc)

    def _new_plate(self, plate_mc):
        if self._plate.new(plate_mc, self._plate_at_ms):
            self._stop(PLATE_HOT, plate_mc)

    def _judge_doubt(self, product_mc):
        """From the first odd read until the next one says what it was, in every pass."""
        if self._range_reads:
            self._withhold(PROBE_RANGE, product_mc)
        if self._odd_reads:
            self._withhold(PROBE_JUMP, product_mc)

    def _judge_ages(self, readings, now_ms):
        age_ms = self._clock.diff(now_ms, self._heard_ms)
        if readings.product_mc == MISSING_MC or age_ms > limits.PRODUCT_STALE_MS:
            self._withhold(PROBE_MISSING, age_ms)
            if age_ms >= limits.PRODUCT_STOP_MS:
                self._stop(PROBE_MISSING, age_ms)
        if not self._config.has_plate:
            return
        age_ms = self._clock.diff(now_ms, self._plate.good_ms)
        if readings.plate_mc == MISSING_MC or age_ms > limits.PRODUCT_STALE_MS:
            self._withhold(PLATE_MISSING, age_ms)
            if age_ms >= limits.PRODUCT_STOP_MS:
                self._stop(PLATE_MISSING, age_ms)

    def _judge_plate(self, wall_mc):
        if self._plate.is_held(wall_mc):
            self._withhold(PLATE_HOT, self._plate.plate_mc)

    def _judge_hot(self, target_mc, passed_ms):
        is_wider = self.addition_ms > 0 and not self.is_cold_expected  # cold seed warms nothing
        wider_mc = limits.ADDITION_WIDER_MC if is_wider else 0
        recent_mc = self.recent.highest_mc()
        self._hot.judge(self.product_mc, target_mc, recent_mc, wider_mc, passed_ms)
        if self._hot.withhold:
            self._withhold(CHOCOLATE_HOT, self.product_mc)
        if self._hot.stop:
            self._stop(CHOCOLATE_HOT, self.product_mc)

    # Once a second.

    def each_second(self, heat_permille, room_mc, target_mc, kind, fan_permille):
        """Judge what the heater gave in the last second; `kind` of the step, "" in a test."""
        if self.product_mc == MISSING_MC:
            return
        self._hot.second(self.product_mc, self.known_plate_mc())
        self.seconds.witness.earlier_mc = self.recent.earlier_mc()
        code = self.seconds.judge(self, heat_permille, room_mc, target_mc, kind, fan_permille)
        if code:
            self._stop(code, self.product_mc)

    def known_plate_mc(self):
        """The plate's last good reading, MISSING_MC without a plate probe."""
        return self._plate.plate_mc if self._config.has_plate else MISSING_MC

    def is_blurred(self):
        """Something was added, fed or handled: no balance can be drawn."""
        fed_ms = self._hot.fed_ms - limits.FED_MS + limits.ADDITION_MS
        return fed_ms > 0 or self.is_handled()

    def is_handled(self):
        """Something was added or handled: the reading need not be where it was."""
        return self.addition_ms > 0 or self.unsettled_ms > 0 or self.is_cold_expected

    def doubt(self):
        """The reading does not follow the heat."""
        self.pause(self.product_mc)
        self.hands = BY_DOUBT

    def pause(self, before_mc):
        """Ask for a pause; it ends by itself only near where the chocolate was before."""
        self.hands = BY_READING
        self.before_mc = before_mc
        self._calm.begin(self.product_mc)

    def after_pause(self, is_declared):
        """The batch goes on from what is read now. `is_declared` 1: pedal or bowl said so."""
        self._odd_reads = 0
        self._hot.after_pause()
        self.seconds.after_pause(self.product_mc, is_declared)
        self.unsettled_ms = limits.SETTLE_MS
        self.heat_limit_permille = 0  # in this pass, too: the return comes after judging
        if self.product_mc > self._warmest_mc():
            self._stop(PROBE_JUMP, self.product_mc)

    def _warmest_mc(self):
        """What no ladle could exceed, from the warmest since before the hands."""
        return self.recent.highest_mc() + limits.JUMP_MC + limits.ADDITION_WIDER_MC

    def settled(self, passed_ms):
        """In a pause nobody declared: True once the reading stands still near where it was."""
        calm = self._calm
        calm.step(self.product_mc, self._warmest_mc(), passed_ms)
        if calm.warm_ms >= limits.WARM_MS:
            self._stop(PROBE_JUMP, self.product_mc)
        near = self.before_mc - self.product_mc <= limits.DROP_MC and not calm.warm_ms
        near = near and self.seconds.witness.may_return(self.product_mc, self.known_plate_mc())
        return near and calm.steady_ms >= limits.SETTLE_MS
