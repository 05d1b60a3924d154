"""The heat flows of one second, and how each new state follows from every old one.

    d mixed  = given - still - blown - bowl_lost + drift
    d hidden = fed - still - blown + odds * (bowl_lost - drift) - through
    d first  = (bowl - first) / probe lag,  d second = (first - second) / second lag

`still` and `blown` leave the plate, `bowl_lost` the chocolate, `through` passes from plate to
chocolate, `fed` comes out of the element; all in K/s of the whole heat capacity. Rows of `slopes`
are the derivatives of these sums, in the order of USES.
"""

from rigfw import model
from rigfw.model import ELEMENT, FAN, GAIN, LOSS, MASS, PLATE, PROBE, ROOM, SHARE

MIXED, HIDDEN, FIRST, SECOND, DRIFT = range(5)
STATES = 5
ALL = STATES + model.COUNT
OF_GAIN, OF_LOSS, OF_FAN, OF_PLATE = STATES + GAIN, STATES + LOSS, STATES + FAN, STATES + PLATE
OF_PROBE, OF_SHARE, OF_MASS = STATES + PROBE, STATES + SHARE, STATES + MASS
OF_ROOM, OF_ELEMENT, OF_SECOND = STATES + ROOM, STATES + ELEMENT, STATES + model.SECOND
USES = (
    (MIXED, HIDDEN, DRIFT, OF_GAIN, OF_LOSS, OF_FAN, OF_SHARE, OF_MASS, OF_ROOM, OF_ELEMENT),
    (
        MIXED,
        HIDDEN,
        DRIFT,
        OF_GAIN,
        OF_LOSS,
        OF_FAN,
        OF_PLATE,
        OF_SHARE,
        OF_MASS,
        OF_ROOM,
        OF_ELEMENT,
    ),
    (MIXED, HIDDEN, FIRST, OF_GAIN, OF_PROBE, OF_MASS, OF_ELEMENT),
    (FIRST, SECOND, OF_PROBE, OF_SECOND),
)


HALF_S = 0.5  # a second's step comes half a second early; steps of two seconds agree with it


class Flows:
    """`slopes[row][column]` and `coupled`, the share of the stirred coupling that there is."""

    def __init__(self, rates):
        self._rates = rates
        self.slopes = [model.zeros(ALL) for _ in range(4)]
        self.coupled = 1.0
        self.rest()

    def rest(self):
        """Nothing is in the element."""
        self.fed_s = self._by_lag_s = 0.0

    @property
    def element_c(self):
        """What the element holds, in K of the whole."""
        return self._rates.gain * self.fed_s

    def move(self, x, heat, fan, s, melting):
        """States `x` become those `s` later, with so much heat and fan (0..1) in between."""
        rates = self._rates
        self._see(x, heat, fan, melting)
        out_per_s = 1.0 / (rates.element_s + HALF_S)
        first_part = s / (rates.probe_s + HALF_S)
        second_part = s / (rates.second_s + HALF_S)
        self._fed = self._element_c * out_per_s
        self._slope_mixed(s)
        self._slope_hidden(s, out_per_s)
        self._slope_probe(x, s, first_part, second_part)
        self._go(x, s, first_part, second_part, melting)
        held_s, by_lag_s = self.fed_s, self._by_lag_s
        faster = rates.element_s * out_per_s
        self._by_lag_s += s * (held_s * faster - by_lag_s) * out_per_s
        self.fed_s += s * (heat - held_s * out_per_s)

    def _see(self, x, heat, fan, melting):
        rates = self._rates
        self._element_c = self.element_c
        self._by_lag_c = rates.gain * self._by_lag_s
        self._hidden_c = x[HIDDEN]
        self._bowl_c = bowl_c = x[MIXED] - x[HIDDEN] - self._element_c
        over_c = bowl_c + x[HIDDEN] / rates.share - rates.room_c
        self._plate_loss = rates.plate_loss + rates.fan * fan
        self._still = rates.plate_loss * over_c
        self._blown = rates.fan * fan * over_c
        self._bowl_lost = rates.bowl_loss * (bowl_c - rates.room_c)
        self.coupled = model.coupled_part(bowl_c) if melting else 1.0
        self._per_s = self.coupled / rates.plate_s
        self._given = rates.gain * heat
        self._drift = rates.mass * x[DRIFT]

    def _go(self, x, s, first_part, second_part, melting):
        rates = self._rates
        through = self._hidden_c * self._per_s
        lost = self._still + self._blown
        x[MIXED] += s * (self._given - lost - self._bowl_lost + self._drift)
        if melting:
            hidden_share = 1.0 - model.sensible_share(self._bowl_c)
            x[MIXED] -= s * hidden_share * (through - self._bowl_lost / (1.0 - rates.share))
        net_lost = self._bowl_lost - self._drift
        x[HIDDEN] += s * (self._fed - lost + rates.odds * net_lost - through)
        first_c = x[FIRST]
        x[FIRST] += first_part * (self._bowl_c - first_c)
        x[SECOND] += second_part * (first_c - x[SECOND])

    def _slope_mixed(self, s):
        rates, row = self._rates, self.slopes[MIXED]
        loss = self._plate_loss + rates.bowl_loss
        of_gain = s * (self._given + loss * self._element_c)
        of_share = s * self._plate_loss * self._hidden_c / rates.share
        lost = self._still + self._blown + self._bowl_lost
        row[MIXED] = 1.0 - s * loss
        row[HIDDEN] = s * (rates.bowl_loss - self._plate_loss * (1.0 / rates.share - 1.0))
        row[DRIFT] = s * rates.mass
        row[OF_GAIN] = of_gain
        row[OF_LOSS] = -s * (self._still + self._bowl_lost)
        row[OF_FAN] = -s * self._blown
        row[OF_SHARE] = of_share
        row[OF_MASS] = of_gain + of_share + s * (self._drift - lost)
        row[OF_ROOM] = s * loss
        row[OF_ELEMENT] = s * loss * self._by_lag_c

    def _slope_hidden(self, s, out_per_s):
        rates, row = self._rates, self.slopes[HIDDEN]
        odds, plate_loss = rates.odds, self._plate_loss
        through = self._hidden_c * self._per_s
        back = odds * (self._bowl_lost - self._drift)
        turned = plate_loss - odds * rates.bowl_loss
        of_gain = s * (self._fed + turned * self._element_c)
        of_share = s * plate_loss * self._hidden_c / rates.share
        of_share += s * (back / (1.0 - rates.share) - through * odds)
        out = plate_loss * (1.0 / rates.share - 1.0) + odds * rates.bowl_loss + self._per_s
        row[MIXED] = -s * turned
        row[HIDDEN] = 1.0 - s * out
        row[DRIFT] = -s * odds * rates.mass
        row[OF_GAIN] = of_gain
        row[OF_LOSS] = s * (odds * self._bowl_lost - self._still)
        row[OF_FAN] = -s * self._blown
        row[OF_PLATE] = s * through
        row[OF_SHARE] = of_share
        row[OF_MASS] = of_gain + of_share + s * (back - self._still - self._blown)
        row[OF_ROOM] = s * turned
        faster = rates.element_s * out_per_s
        of_lag = (self._by_lag_c - faster * self._element_c) * out_per_s
        row[OF_ELEMENT] = s * (of_lag + turned * self._by_lag_c)

    def _slope_probe(self, x, s, first_part, second_part):
        rates, row = self._rates, self.slopes[FIRST]
        row[MIXED] = first_part
        row[HIDDEN] = -first_part
        row[FIRST] = 1.0 - first_part
        row[OF_GAIN] = row[OF_MASS] = -first_part * self._element_c
        row[OF_PROBE] = -rates.probe_s / s * first_part * first_part * (self._bowl_c - x[FIRST])
        row[OF_ELEMENT] = -first_part * self._by_lag_c
        row = self.slopes[SECOND]
        row[FIRST] = second_part
        row[SECOND] = 1.0 - second_part
        slower = -second_part * second_part / s * (x[FIRST] - x[SECOND])
        row[OF_PROBE] = rates.second_s * slower
        row[OF_SECOND] = rates.probe_s * slower
