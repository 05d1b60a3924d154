"""From where the heat is to how much heat or fan: land on the mixed temperature, then hold.

The mixed temperature has no lag: a second of power moves it at once. So it is brought to its
place, and the chocolate and the reading come after without passing it. Temperatures degC, rates
in K/s of the whole heat capacity, in here.
"""

from math import log, sqrt

from rigfw.estimator import DRIFT, HIDDEN, MIXED
from rigfw.folded import const
from rigfw.model import FAN, GAIN, MASS, SHARE, sensible_share
from rigfw.pulser import SSR_MIN_ON_MS

_LAND_S = const(15.0)  # own choice: faster only follows the noise of the probe
_SLOWER_S = const(400)  # own choice: by the variance of the mass, for what was poured out
# without a word moves a bowl seven times as far for the same heat
_PLATE_S = const(12.0)
_MARGIN_SIGMAS = const(1.0)  # own choice: the right side of the target, until it has landed
_WARM_MARGIN_SIGMAS = const(2.6)  # own choice: a slow probe's lag is half known; close is in time
_MELT_MARGIN_SIGMAS = const(0.3)  # own choice: half a degree over does no harm in melt
_MARGIN_KEPT = const(0.99)  # of the margin from second to second once it has landed
_LANDED_C = const(0.15)
_CREEP_C = const(0.02)  # own choice: what moves by less at once is followed, not landed on
WALL_SIGMAS = 3.0  # own choice: a filter is surer than it should be,
_GAP_LEAST2 = const(0.01)  # and mains and switching move the plate by some per cent, squared
_MELT_WALL_SIGMAS = const(4.5)  # own choice: one rig in fifty is twice as slow as it seems
_HOLD_PART = const(1.15)  # own choice: so much of what holds the chocolate is always given
_SOLID_DOUBT = const(0.8)  # of the coupling while pieces melt: nobody has measured it
_WALL_LEAST_C = const(0.4)  # own choice: switching and noise
_SEEN_LEAST_C = const(0.5)  # where a probe reads the plate: it follows later than the sum does
_SURE_C = const(1.0)
_WEAKER = const(0.05)  # own choice, a logarithm: so much weaker may the mains make a heater
_BRAKE_SIGMAS = const(1.5)
_BRAKE_LATE_S = const(3.0)
_NO_HEAT_OVER_C = const(0.3)  # own choice: so far over its target nothing asks for heat
_FAN_LEAST_C = const(0.04)
_WARM_LEAST_C = const(0.2)  # own choice: a plate this close to the room has nothing for the fan
COOLING = ("cool", "seed")
SOFT = ("rewarm", "work")
_BRAKE_S = const(3.0)  # own choice: so soon may the fan have taken what is to be taken
GENTLE_BAND_C = 2.5  # common practice: the last 2 to 3 degrees go slower,
GENTLE_PART = 0.225  # at 0.5 K/min where 2 K/min are the most


class Landing:
    """`heat` and `fan`, 0.0 to 1.0, from an Estimator, once a second."""

    def __init__(self, estimator, config):
        self._of = estimator
        self._ceiling_c = config.plate_ceiling_mc / 1000.0
        self._relay = None
        if config.min_on_ms >= SSR_MIN_ON_MS:
            from rigfw.relay import Relay  # a board without one has its memory for other things

            self._relay = Relay(config.min_on_ms / 1000.0, config.min_off_ms / 1000.0)
        self.begin()

    def begin(self):
        """A batch."""
        self._hidden_c = self._most_c = self._room_c = self._hold_c = 0.0
        self._gain = self._more_c = self._stronger = 0.0
        self._target_c = None
        self.heat = self.fan = 0.0
        if self._relay:
            self._relay.rest()

    def decide(self, target_c, step, reading_c, plate_c, melting, passed_s):
        """Set `heat` and `fan`. `step` gives kind, rate and wall limit; `plate_c` is what a
        plate probe reads, None without one."""
        estimator = self._of
        rates, bowl_c, kind = estimator.rates, estimator.bowl_c, step.kind
        self._suspect(kind, passed_s)
        self.heat = self.fan = 0.0
        missing_c, past_c = self._missing(target_c, kind), reading_c - target_c
        if kind in COOLING:
            past_c = -missing_c
        elif past_c > _NO_HEAT_OVER_C:  # whatever the sum says
            missing_c = min(missing_c, -past_c)
        over_c = estimator.plate_c - rates.room_c
        lost = rates.plate_loss * over_c + rates.bowl_loss * (bowl_c - rates.room_c)
        lost -= rates.mass * estimator.x[DRIFT]
        fan_from_c = _FAN_LEAST_C
        if self._relay:
            fan_from_c += self._relay.planned(estimator, lost, over_c, self._margin)
        slower_s = _SLOWER_S * estimator.p[MASS][MASS] if missing_c > -_NO_HEAT_OVER_C else 0
        brakes = kind == "rewarm"
        brake_c = self._brakeable(target_c) if brakes else 0.0
        power = lost + missing_c / (_LAND_S + slower_s) + brake_c / _LAND_S
        rate_c_per_s = step.rate_mc_per_min / 60000.0
        if kind in COOLING and bowl_c - target_c < GENTLE_BAND_C:
            rate_c_per_s *= GENTLE_PART
        if power > 0.0 or (self._relay and self._relay.is_on):
            if past_c < _NO_HEAT_OVER_C:
                limit_c = min(step.wall_mc / 1000.0, self._ceiling_c)
                most = self._most(limit_c, bowl_c, rate_c_per_s, plate_c, melting)
                is_sure = plate_c is None and not melting
                self._hold_c = self._place(target_c) - target_c if is_sure else 0.0
                self._heat(power, most, missing_c + brake_c, lost, passed_s)
            elif self._relay:
                self._relay.rest()
        elif missing_c < -fan_from_c and over_c > _WARM_LEAST_C:
            wanted = missing_c / _BRAKE_S if brakes else power
            self.fan = min(1.0, -wanted / (rates.fan * over_c))
            self._gentle(rate_c_per_s, bowl_c)
        if self._relay and over_c > _WARM_LEAST_C:
            self.fan = max(self.fan, self._relay.lowering(missing_c, rates.gain, lost))

    def _heat(self, power, most, missing_c, lost, passed_s):
        gain, relay = self._of.rates.gain, self._relay
        if not relay:
            self.heat = max(0.0, min(1.0, min(power, most) / gain))
            return
        plate = (
            self._hidden_c,
            self._of.flows.element_c,
            self._most_c,
            self._room_c,
            self._hold_c,
        )
        relay.decide(missing_c, self._of.rates, lost, plate, passed_s)
        self.heat = 1.0 if relay.is_on else 0.0

    def _missing(self, target_c, kind):
        """K of the whole that are still to come, less a margin on the side it comes from."""
        estimator = self._of
        missing_c = self._place(target_c) - estimator.x[MIXED]
        before_c, self._target_c = self._target_c, target_c
        if before_c is None or abs(target_c - before_c) > _CREEP_C:
            self._margin, self._side = 1.0, 1.0 if missing_c > 0.0 else -1.0
        sigmas = _WARM_MARGIN_SIGMAS if kind in SOFT else _MARGIN_SIGMAS
        sigmas = _MELT_MARGIN_SIGMAS if kind == "melt" else sigmas
        sigma_c = sqrt(max(estimator.p[MIXED][MIXED], 0.0))
        near_c = missing_c - self._side * self._margin * sigmas * sigma_c
        if abs(near_c) < _LANDED_C or missing_c * self._side < 0.0:
            self._margin *= _MARGIN_KEPT
        return near_c

    def _place(self, target_c):
        """The mixed temperature that holds the chocolate at its target."""
        rates = self._of.rates
        lost = rates.bowl_loss * (target_c - rates.room_c)
        drift = rates.mass * self._of.x[DRIFT]
        through = (lost - drift) / (1.0 - rates.share)
        fed = lost - drift + rates.plate_loss * (target_c - rates.room_c)
        fed = max(0.0, min(fed, rates.gain))
        return target_c + rates.plate_s * through + rates.element_s * fed

    def _most(self, limit_c, bowl_c, rate_c_per_s, plate_c, melting):
        """The most power that keeps the plate under its limit and the chocolate under its rate."""
        estimator = self._of
        rates, hidden_c = estimator.rates, estimator.x[HIDDEN]
        share = rates.share
        doubt, least_c = 1.0, _SEEN_LEAST_C
        if plate_c is None:
            least_c = _WALL_LEAST_C
            doubt += self._doubt(melting)
            hidden_c += self._more_c
        else:
            hidden_c = share * (plate_c - bowl_c)
        over_c = bowl_c - rates.room_c
        through = estimator.flows.coupled * hidden_c / rates.plate_s + rates.plate_loss * over_c
        shows = estimator.flows.coupled  # of what the plate holds, as a rate of the chocolate
        if melting:
            shows *= sensible_share(bowl_c)
        wall_c = share * (limit_c - least_c - bowl_c) / doubt
        if plate_c is None and not melting:  # a rig that could not even hold would be refused
            hold_c = rates.plate_s * rates.bowl_loss * over_c / (1.0 - share)
            wall_c = max(wall_c, _HOLD_PART * hold_c)
        most_c = min(
            wall_c,
            rates.plate_s * (rate_c_per_s + rates.bowl_loss * over_c) / shows,
        )
        coming_c = estimator.flows.element_c - rates.element_s * through
        self._hidden_c, self._most_c = hidden_c, most_c
        self._room_c = most_c - hidden_c - max(0.0, coming_c)
        return (through + self._room_c / _PLATE_S) / (1.0 + self._stronger)

    def _suspect(self, kind, passed_s):
        """From the rewarm on crystals that melt draw heat, and the estimate takes it for a weaker
        heater: the plate may have what a heater about as strong as before has put there."""
        rates, gain = self._of.rates, self._of.x[GAIN]
        if kind not in SOFT:
            self._gain, self._more_c = gain, 0.0
        self._stronger = max(0.0, self._gain - _WEAKER - gain)
        more_c_per_s = self._stronger * rates.gain * self.heat - self._more_c / rates.plate_s
        self._more_c += passed_s * more_c_per_s

    def _doubt(self, melting):
        """How much further the plate may be over the chocolate than it seems, as a part of it."""
        p, share = self._of.p, self._of.rates.share
        hidden_c = self._of.x[HIDDEN]
        variance = p[HIDDEN][HIDDEN] - 2.0 * hidden_c * p[HIDDEN][SHARE]
        variance += hidden_c * hidden_c * p[SHARE][SHARE]
        # What is poured away moves both in the same way: the plate gets no hotter by it.
        variance += hidden_c * (
            hidden_c * (p[MASS][MASS] + 2.0 * p[SHARE][MASS]) - 2.0 * p[HIDDEN][MASS]
        )
        part = max(hidden_c, share * _SURE_C)
        gap = sqrt(max(variance, 0.0) / (part * part) + _GAP_LEAST2)
        if not melting:
            return WALL_SIGMAS * gap
        solid = _SOLID_DOUBT * (1.0 - self._of.flows.coupled)
        return sqrt((_MELT_WALL_SIGMAS * gap) ** 2 + solid * solid)

    def _brakeable(self, target_c):
        """What the fan can take out of the plate before it is in the chocolate, K of the whole."""
        rates = self._of.rates
        lost = rates.bowl_loss * (target_c - rates.room_c) / (1.0 - rates.share)
        hidden_c = self._of.x[HIDDEN] + self._of.flows.element_c - rates.plate_s * lost
        over_c = target_c + 0.5 * max(hidden_c, 0.0) / rates.share - rates.room_c
        sure = 1.0 - _BRAKE_SIGMAS * sqrt(max(self._of.p[FAN][FAN], 0.0))
        taken = rates.fan * over_c * sure
        if hidden_c <= 0.0 or taken <= 0.0:
            return 0.0
        lasts_s = rates.plate_s * log(1.0 + hidden_c / (taken * rates.plate_s))
        return taken * max(0.0, lasts_s - _BRAKE_LATE_S)

    def _gentle(self, rate_c_per_s, bowl_c):
        """No more fan than the step's greatest rate downwards allows."""
        rates = self._of.rates
        falling = -self._of.x[HIDDEN] / rates.plate_s + rates.bowl_loss * (bowl_c - rates.room_c)
        self.fan *= max(0.0, min(1.0, 1.0 + 4.0 * (1.0 - falling / rate_c_per_s)))
