"""How much heat and fan: called once a second with new readings; with its parts, the only floats.

An estimate of where the heat is (`estimator`), and a landing on it (`landing`). Parameters of the
rig are learned above LEARN_FROM_C only, where nothing melts or sets; `learned` gives them to the
next Regulator of this rig. An estimate that has lost the bowl begins anew from the description.
"""

from rigfw import model
from rigfw.estimator import Estimator
from rigfw.flows import STATES
from rigfw.landing import Landing
from rigfw.lesson import Lesson, pages
from rigwire.messages import MISSING_MC

LEARN_FROM_C = 37.0
COOL_LEARN_FROM_C = 34.5  # melted chocolate sets nothing above the stable form's melting point
LESSON_FROM_C = 38.5  # the last pieces melt some 20 s behind the bath: assumption
MELTED_C = 36.5
FALLING, FALLING_KEPT = 0.003, 0.95  # K/s, own choice: a mean of some 20 s that falls so fast
FALL_MOST_C = 0.0625  # of one reading: a ladle is no mean
SLOW_PERMILLE = 370  # own choice: by this the bowl of a dead heater is as if it had none
LONGEST_S = 10.0  # own choice: after a longer silence the estimate is no worse for stopping there
GAP_MS = 5000  # own choice: after a longer silence nobody knows what the bowl went through
SOON_S = 300.0  # own choice: a good part of a turn of the mains
LIQUID = ("melt", "rest", "cool")
JUMP_C, JUMPS = 3.0, 3  # own choice: one odd reading is no news, three in a row are another bowl
LOST_C, LOST_KEPT = 0.4, 0.98  # own choice: a mean of some 50 s off by this much is no estimate


class Regulator:
    """`heat_permille` and `fan_permille`, 0 to 1000, are the demand."""

    def __init__(self, config, learned=None):
        self._config = config
        self._logs, self._spread = _recalled(learned)
        self._notes = pages()
        self._estimator = self._landing = self._lesson = None
        self.begin(1000)

    def begin(self, mass_g):
        """A batch of this mass begins, in the next `demand`: this allocates nothing."""
        self._mass_g = mass_g
        self._is_new = True
        self.rest()

    def rest(self):
        """No demand."""
        self.heat_permille = self.fan_permille = 0

    def learned(self):
        """What the rig has taught: a plain list of numbers, or None while it taught nothing."""
        if self._estimator:
            self._keep()
        if not self._spread:
            return None
        return [model.RECORD] + self._logs + [value for row in self._spread for value in row]

    def demand(self, readings, target_mc, step, delivered_permille, passed_ms,
               blown_permille=None):  # fmt: skip
        """Set the demand for the next second; 0 when anything raises. Allocates.

        `readings` in mC; `step` gives kind, rate and wall limit; `delivered_permille` is the mean
        of what the heater switch really gave in the last `passed_ms`, `blown_permille` that of
        the fan (None: what was demanded).
        """
        blown_permille = self.fan_permille if blown_permille is None else blown_permille
        fan = blown_permille / 1000.0
        self.rest()
        reading_c = readings.product_mc / 1000.0
        if self._is_new:
            self._begin(reading_c, readings.room_mc, step.kind == "melt")
        self._predict(delivered_permille / 1000.0, fan, passed_ms / 1000.0, step.kind)
        self._correct(reading_c, readings.room_mc, step.kind)
        try:
            self._study(
                reading_c, delivered_permille / 1000.0, fan, passed_ms, step.kind, target_mc
            )
        except (ArithmeticError, ValueError):  # a sum of the lesson is no reason to go cold
            self._lesson.give_up()
        plate_c = None if readings.plate_mc == MISSING_MC else readings.plate_mc / 1000.0
        landing = self._landing
        landing.decide(target_mc / 1000.0, step, plate_c, self._is_melting, passed_ms / 1000.0)
        most = self._most_permille(reading_c, passed_ms, step.kind)
        self.heat_permille = max(0, min(most, int(1000.0 * landing.heat)))
        self.fan_permille = max(0, min(1000, int(1000.0 * landing.fan)))

    def _begin(self, reading_c, room_mc, melts):
        """A batch: what was learned, a little less sure of it than before."""
        if self._estimator:
            self._keep()
        self._is_new = False
        rates = model.Model(self._config, self._mass_g)
        spread = model.widened(self._spread) if self._spread else rates.prior()
        logs = list(self._logs)
        self._lesson = None
        if room_mc != MISSING_MC:
            model.know_room(logs, spread, room_mc / 1000.0)
        self._estimator = Estimator(rates, logs, spread)
        self._landing = Landing(self._estimator, self._config, self._spread is not None)
        self._lesson = Lesson(model.Model(self._config, self._mass_g), logs, spread, self._notes)
        self._is_melting = melts and reading_c < MELTED_C
        self._estimator.start(reading_c, 0.1 if self._is_melting else 0.5)
        self._jumps = 0
        self._lost_c = self._falling = 0.0
        self._reading_c = reading_c

    def _most_permille(self, reading_c, passed_ms, kind):
        """Less while the reading falls in a melt: then it does not follow the heat."""
        passed_s = max(passed_ms, 250) / 1000.0
        fell_c = max(-FALL_MOST_C, min(FALL_MOST_C, self._reading_c - reading_c))
        self._reading_c = reading_c
        self._falling += (1.0 - FALLING_KEPT) * (fell_c / passed_s - self._falling)
        falls = self._falling > FALLING and kind in ("melt", "rest") and not self._is_melting
        return SLOW_PERMILLE if falls else 1000

    def _predict(self, heat, fan, passed_s, kind):
        left_s = min(passed_s, LONGEST_S)
        while left_s > 0.0:
            part_s = min(left_s, 1.0)
            self._estimator.predict(heat, fan, part_s, self._is_melting, kind == "work")
            left_s -= part_s

    def _correct(self, reading_c, room_mc, kind):
        estimator, works = self._estimator, kind == "work"
        if abs(reading_c - estimator.x[3]) > JUMP_C and self._jumps < JUMPS:
            self._jumps += 1
            return
        if self._jumps >= JUMPS:
            estimator.start(reading_c, 0.5)
        self._jumps = 0
        from_c = COOL_LEARN_FROM_C if kind == "cool" else LEARN_FROM_C
        learns = not self._is_melting and kind in LIQUID and estimator.bowl_c > from_c
        estimator.correct(reading_c, learns, works)
        if self._is_melting and (estimator.bowl_c > MELTED_C or kind not in ("melt", "rest")):
            self._is_melting = False
            estimator.forget(1.0, 1.0, 1e-7)
        self._lost_c += (1.0 - LOST_KEPT) * (abs(estimator.off_c) - self._lost_c)
        if not self._lost_c < LOST_C:  # true of no number, too
            self._fall_back(reading_c, room_mc, kind == "melt")

    def _study(self, reading_c, heat, fan, passed_ms, kind, target_mc):
        """Note what is liquid; afterwards work at it, one row a second."""
        lesson = self._lesson
        if lesson.is_done:
            return
        if lesson.is_open:
            bowl_c = self._estimator.bowl_c
            from_c = COOL_LEARN_FROM_C if lesson.rows else LESSON_FROM_C
            if kind not in LIQUID or passed_ms > GAP_MS or (lesson.rows and bowl_c < from_c):
                lesson.end()
            elif (
                bowl_c > from_c
                and not self._is_melting
                and (lesson.rows or self._is_soon(target_mc))
            ):
                lesson.note(reading_c, heat, fan, passed_ms / 1000.0)
        else:
            lesson.study(1)

    def _is_soon(self, target_mc):
        """Full heat is there in SOON_S: what was long before tells more of the mains."""
        estimator = self._estimator
        rates, bowl_c = estimator.rates, estimator.bowl_c
        rising = rates.gain - (rates.bowl_loss + rates.plate_loss) * (bowl_c - rates.room_c)
        return target_mc / 1000.0 - bowl_c < SOON_S * max(rising, 0.0)

    def _fall_back(self, reading_c, room_mc, melts):
        """The rig is not what was learned: back to the description and its wide doubt."""
        self._estimator = None
        self._logs, self._spread = [0.0] * model.COUNT, None
        self._begin(reading_c, room_mc, melts and self._is_melting)

    def _keep(self):
        x, p = self._estimator.x, self._estimator.p
        told = self._lesson.tell() if self._lesson else None
        if told:
            self._logs, self._spread = told
        else:
            self._logs = x[STATES:]
            self._spread = [list(p[STATES + at])[STATES:] for at in range(model.COUNT)]
        model.forget_mass(self._logs, self._spread)


def _recalled(learned):
    """Logarithms and covariance of an earlier `learned`; nothing known when it is not one."""
    count = model.COUNT
    if not learned or len(learned) != 1 + count + count * count or learned[0] != model.RECORD:
        return [0.0] * count, None
    rows = [learned[1 + count * (at + 1) : 1 + count * (at + 2)] for at in range(count)]
    return list(learned[1 : 1 + count]), [list(row) for row in rows]
