"""From where the heat is to how much heat or fan: land on the mixed temperature, then hold.

The mixed temperature has no lag: a second of power moves it at once. So it is brought to its
place, and the chocolate and the reading come after without passing it. Temperatures degC, rates
in K/s of the whole heat capacity, in here.
"""

from math import sqrt

from rigfw.flows import DRIFT, HIDDEN, MIXED, OF_SHARE
from rigfw.model import sensible_share
from rigfw.pulser import SSR_MIN_ON_MS
from rigfw.relay import Relay

LAND_S = 15.0  # own choice: faster only follows the noise of the probe
HOLD_S = 60.0  # own choice: in work, where half of the mass may be gone without a word
PLATE_S = 12.0
MARGIN_SIGMAS = 1.0  # own choice: the right side of the target, until it has landed
MELT_MARGIN_SIGMAS = 0.3  # own choice: half a degree over does no harm in melt
MARGIN_KEPT = 0.98  # of the margin from second to second once it has landed
LANDED_C = 0.15
SHARE_SIGMAS = 1.0
MELT_SHARE_SIGMAS = 0.8
SHARE_LEAST_2 = 0.01  # own choice: what lags beyond the model's make of it
WALL_LEAST_C = 0.55  # a DS18B20 is within half a degree (its data sheet); switching and noise
NO_HEAT_OVER_C = 0.3  # a cool step takes no heat farther than this above its target
FAN_LEAST_C = 0.04
WARM_LEAST_C = 0.2  # own choice: a plate this close to the room has nothing for the fan
COOLING = ("cool", "seed")
GENTLE_BAND_C = 2.5  # common practice: the last 2 to 3 degrees go slower,
GENTLE_PART = 0.225  # at 0.5 K/min where 2 K/min are the most


class Landing:
    """`heat` and `fan`, 0.0 to 1.0, from an Estimator, once a second."""

    def __init__(self, estimator, config):
        self._of = estimator
        self._ceiling_c = config.plate_ceiling_mc / 1000.0
        self._relay = None
        if config.min_on_ms >= SSR_MIN_ON_MS:
            self._relay = Relay(config.min_on_ms / 1000.0, config.min_off_ms / 1000.0)
        self._target_c = None
        self._margin = 1.0
        self._side = 0.0
        self.heat = self.fan = 0.0

    def decide(self, target_c, step, plate_c, melting, passed_s):
        """Set `heat` and `fan`. `step` gives kind, rate and wall limit; `plate_c` is what a
        plate probe reads, None without one."""
        estimator = self._of
        rates, bowl_c, kind = estimator.rates, estimator.bowl_c, step.kind
        self.heat = self.fan = 0.0
        missing_c = self._missing(target_c, kind)
        over_c = estimator.plate_c - rates.room_c
        lost = rates.plate_loss * over_c + rates.bowl_loss * (bowl_c - rates.room_c)
        lost -= rates.mass * estimator.x[DRIFT]
        power = lost + missing_c / (HOLD_S if kind == "work" else LAND_S)
        rate_c_per_s = self._rate(step, bowl_c - target_c)
        if power > 0.0 or self._is_pulse():
            if kind != "cool" or missing_c > -NO_HEAT_OVER_C:
                limit_c = min(step.wall_mc / 1000.0, self._ceiling_c)
                most = self._most(limit_c, bowl_c, rate_c_per_s, plate_c, melting)
                self._heat(power, most, missing_c, kind, passed_s)
            elif self._relay:
                self._relay.rest()
        elif missing_c < -FAN_LEAST_C and over_c > WARM_LEAST_C:
            self.fan = min(1.0, -power / (rates.fan * over_c))
            self._gentle(rate_c_per_s, bowl_c)

    def _is_pulse(self):
        return self._relay is not None and self._relay.is_on

    def _heat(self, power, most, missing_c, kind, passed_s):
        gain, relay = self._of.rates.gain, self._relay
        if not relay:
            self.heat = max(0.0, min(1.0, min(power, most) / gain))
            return
        relay.decide(missing_c, gain, most * PLATE_S, kind, passed_s)
        self.heat = 1.0 if relay.is_on else 0.0

    def _missing(self, target_c, kind):
        """K of the whole that are still to come, less a margin on the side it comes from."""
        estimator = self._of
        missing_c = self._place(target_c) - estimator.x[MIXED]
        if target_c != self._target_c:
            self._target_c = target_c
            self._margin, self._side = 1.0, 1.0 if missing_c > 0.0 else -1.0
        if abs(missing_c) < LANDED_C or missing_c * self._side < 0.0:
            self._margin *= MARGIN_KEPT
        sigma_c = sqrt(max(estimator.p[MIXED][MIXED], 0.0))
        sigmas = MELT_MARGIN_SIGMAS if kind == "melt" else MARGIN_SIGMAS
        return missing_c - self._side * self._margin * sigmas * sigma_c

    def _place(self, target_c):
        """The mixed temperature that holds the chocolate at its target."""
        rates = self._of.rates
        lost = rates.bowl_loss * (target_c - rates.room_c)
        drift = rates.mass * self._of.x[DRIFT]
        through = lost / (1.0 - rates.share) - drift
        fed = lost - drift + rates.plate_loss * (target_c - rates.room_c)
        fed = max(0.0, min(fed, rates.gain))
        return target_c + rates.plate_s * through + rates.element_s * fed

    def _most(self, limit_c, bowl_c, rate_c_per_s, plate_c, melting):
        """The most power that keeps the plate under its limit and the chocolate under its rate."""
        estimator = self._of
        rates, hidden_c = estimator.rates, estimator.x[HIDDEN]
        share = rates.share
        if plate_c is None:
            sigmas = MELT_SHARE_SIGMAS if melting else SHARE_SIGMAS
            variance = max(estimator.p[OF_SHARE][OF_SHARE], 0.0) + SHARE_LEAST_2
            share /= 1.0 + sigmas * sqrt(variance)
        else:
            hidden_c = share * (plate_c - bowl_c)
        over_c = bowl_c - rates.room_c
        through = estimator.flows.coupled * hidden_c / rates.plate_s + rates.plate_loss * over_c
        shows = estimator.flows.coupled  # of what the plate holds, as a rate of the chocolate
        if melting:
            shows *= sensible_share(bowl_c)
        most_c = min(
            share * (limit_c - WALL_LEAST_C - bowl_c),
            rates.plate_s * (rate_c_per_s + rates.bowl_loss * over_c) / shows,
        )
        coming_c = estimator.flows.element_c - rates.element_s * through
        return through + (most_c - hidden_c - max(0.0, coming_c)) / PLATE_S

    @staticmethod
    def _rate(step, over_c):
        rate_c_per_s = step.rate_mc_per_min / 60000.0
        if step.kind in COOLING and over_c < GENTLE_BAND_C:
            rate_c_per_s *= GENTLE_PART
        return rate_c_per_s

    def _gentle(self, rate_c_per_s, bowl_c):
        """No more fan than the step's greatest rate downwards allows."""
        rates = self._of.rates
        falling = -self._of.x[HIDDEN] / rates.plate_s + rates.bowl_loss * (bowl_c - rates.room_c)
        self.fan *= max(0.0, min(1.0, 1.0 + 4.0 * (1.0 - falling / rate_c_per_s)))
