"""How much heat and fan: called once a second with new readings; with its parts, the only floats.

An estimate of where the heat is (`estimator`), and a landing on it (`landing`). Parameters of the
rig are learned above _LEARN_FROM_C only, where nothing melts or sets; `learned` gives them to the
next Regulator of this rig. An estimate that has lost the bowl begins anew from the description.
"""

from rigfw import model
from rigfw.estimator import SECOND, Estimator
from rigfw.folded import const
from rigfw.landing import Landing
from rigfw.memory import is_sound, put, taken
from rigwire.messages import MISSING_MC

_LEARN_FROM_C = const(37.0)
_COOL_LEARN_FROM_C = const(34.5)  # melted chocolate sets nothing above the stable form's melting
_MELTED_C = const(36.5)
_FALLING = const(0.003)  # K/s, own choice: a mean of some 20 s that falls so fast,
_FALLING_KEPT = const(0.95)
_FALL_MOST_C = const(0.0625)  # of one reading (a ladle is no mean),
_SLOW_MOST_S = const(160.0)  # own choice: a bowl that loses twice as much warms after that
_SLOW_PERMILLE = const(370)  # own choice: by this a dead heater's bowl is as if it had none
_LONGEST_S = const(10.0)  # own choice: after a longer silence the estimate may stop there
_AT_ONCE_S = const(1.5)  # own choice: readings that are rarer go in one by one
LIQUID = ("melt", "rest", "cool")
_JUMP_C = const(3.0)  # own choice: one odd reading is no news,
_JUMPS = const(3)  # three in a row are another bowl
_LOST_C = const(0.4)  # own choice: a mean of some 50 s off by this much is no estimate
_LOST_KEPT = const(0.96)


class Regulator:
    """`heat_permille` and `fan_permille`, 0 to 1000, are the demand."""

    def __init__(self, config, learned=None):
        """`learned` is what another one's `learned` gave, or None."""
        self._learned = learned if is_sound(learned) else None
        self._rates = model.Model(config)
        self.estimator = Estimator(self._rates)
        self.landing = Landing(self.estimator, config)
        self._is_running = False
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
        """What the rig has taught, numbers as `memory` has them, or None: it taught nothing."""
        if self._is_running:
            self._learned = taken(self.estimator.x, self.estimator.p)
        return self._learned

    def demand(self, readings, target_mc, step, delivered_permille, passed_ms,
               blown_permille=None):  # fmt: skip
        """Set the demand for the next second; 0 when anything raises. Allocates.

        `readings` in mC; `step` gives kind, rate and wall limit; `delivered_permille` is the mean
        of what the heater switch really gave in the last `passed_ms`, `blown_permille` that of
        the fan (None: what was demanded).
        """
        blown_permille = self.fan_permille if blown_permille is None else blown_permille
        self.rest()
        reading_c, kind, passed_s = readings.product_mc / 1000.0, step.kind, passed_ms / 1000.0
        if self._is_new:
            self.learned()
            self._begin(reading_c, readings.room_mc, kind == "melt")
        left_s = min(passed_s, _LONGEST_S)
        while left_s > 0.0:
            self.estimator.predict(
                delivered_permille / 1000.0, blown_permille / 1000.0, min(left_s, 1.0),
                self._is_melting, kind == "work",
            )  # fmt: skip
            left_s -= 1.0
        self._correct(reading_c, readings.room_mc, kind, passed_s)
        landing, plate_mc = self.landing, readings.plate_mc
        plate_c = None if plate_mc == MISSING_MC else plate_mc / 1000.0
        melting = self._is_melting
        landing.decide(target_mc / 1000.0, step, reading_c, plate_c, melting, passed_s)
        most = self._most_permille(reading_c, passed_s, kind)
        self.heat_permille = max(0, min(most, int(1000.0 * landing.heat)))
        self.fan_permille = max(0, min(1000, int(1000.0 * landing.fan)))

    def _begin(self, reading_c, room_mc, melts):
        """A batch: what was learned, a little less sure of it than before."""
        self._is_new, self._is_running = False, True
        estimator, rates = self.estimator, self._rates
        x, p = estimator.x, estimator.p
        rates.begin(self._mass_g)
        if self._learned:
            put(self._learned, x, p)
            model.know(x, p, model.MASS, 0.0, 0.0)  # each batch has its own
            model.widen(p, model.WIDER_SIGMA)
        else:
            for at in range(model.ALL):
                x[at] = 0.0
            rates.prior(p)
        if room_mc != MISSING_MC:
            model.know(x, p, model.ROOM, model.room_over_c(room_mc / 1000.0), 0.5)
        self.landing.begin()
        self._is_melting = melts and reading_c < _MELTED_C
        estimator.start(reading_c, 0.1 if self._is_melting else 0.5)
        self._jumps = 0
        self._lost_c = self._falling = self._fell_s = 0.0
        self._reading_c = reading_c

    def _most_permille(self, reading_c, passed_s, kind):
        """Less, for a while, where the reading falls in a melt: it does not follow the heat."""
        fell_c = max(-_FALL_MOST_C, min(_FALL_MOST_C, self._reading_c - reading_c))
        self._reading_c = reading_c
        fell_c_per_s = fell_c / max(passed_s, 0.25)
        self._falling += (1.0 - _FALLING_KEPT) * (fell_c_per_s - self._falling)
        falls = self._falling > _FALLING and kind in ("melt", "rest") and not self._is_melting
        self._fell_s = self._fell_s + passed_s if falls else 0.0
        return _SLOW_PERMILLE if 0.0 < self._fell_s < _SLOW_MOST_S else 1000

    def _correct(self, reading_c, room_mc, kind, passed_s):
        estimator, works = self.estimator, kind == "work"
        if abs(reading_c - estimator.x[SECOND]) > _JUMP_C and self._jumps < _JUMPS:
            self._jumps += 1
            return
        if self._jumps >= _JUMPS:
            estimator.start(reading_c, 0.5)
        self._jumps = 0
        from_c = _COOL_LEARN_FROM_C if kind == "cool" else _LEARN_FROM_C
        learns = not self._is_melting and kind in LIQUID and estimator.bowl_c > from_c
        own = model.MASS if works else model.ALL if self._is_melting else model.GAIN
        if not estimator.correct(reading_c, learns, own, passed_s > _AT_ONCE_S):
            return
        if self._is_melting and (estimator.bowl_c > _MELTED_C or kind not in ("melt", "rest")):
            self._is_melting = False
            estimator.forget(1.0, 1.0, 1e-7)
        self._lost_c += (1.0 - _LOST_KEPT) * (abs(estimator.off_c) - self._lost_c)
        if not self._lost_c < _LOST_C:  # true of no number, too
            self._learned = None  # the rig is not that: back to the description and its doubt
            self._begin(reading_c, room_mc, kind == "melt" and self._is_melting)
