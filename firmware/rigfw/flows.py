"""The heat flows of one second, and how each new state follows from every old one.

    d mixed  = given - still - blown - bowl_lost + drift
    d hidden = fed - still - blown + odds * (bowl_lost - drift) - through
    d first  = (bowl - first) / probe lag,  d second = (first - second) / second lag

`still` and `blown` leave the plate, `bowl_lost` the chocolate, `through` passes from plate to
chocolate, `fed` comes out of the element; all in K/s of the whole heat capacity.
"""

from rigfw import model
from rigfw.folded import const

_HALF_S = const(0.5)  # a second's step comes half a second early; two seconds agree with it
_SET_NO_MORE_C = const(34)  # form V melts at 33.8 (Wille & Lutton 1966, read second-hand); own
_SETTING_C = const(33)  # choice: up to here crystals set free the less the nearer they are to it
_MIXED = const(0)
_HIDDEN = const(1)
_FIRST = const(2)
_SECOND = const(3)
_DRIFT = const(4)


class Flows:
    """On the rates of a Model. `coupled`: the share of the stirred coupling that there is."""

    def __init__(self, rates):
        self._rates = rates
        self.coupled = 1.0
        self.rest()

    def rest(self):
        """Nothing is in the element."""
        self._fed_s = self._by_lag_s = 0.0

    @property
    def element_c(self):
        """What the element holds, in K of the whole."""
        return self._rates.gain * self._fed_s

    def _see(self, x, fan):
        """What leaves: from the plate in still air, with the fan on top, from the chocolate."""
        rates = self._rates
        bowl_c = x[_MIXED] - x[_HIDDEN] - self.element_c
        over_c = bowl_c + x[_HIDDEN] / rates.share - rates.room_c
        bowl_lost = rates.bowl_loss * (bowl_c - rates.room_c)
        return bowl_c, rates.plate_loss * over_c, rates.fan * fan * over_c, bowl_lost

    def move(self, x, heat, fan, s, melting):
        """States `x` become those `s` later, with so much heat and fan (0..1) in between."""
        rates = self._rates
        bowl_c, still, blown, bowl_lost = self._see(x, fan)
        self.coupled = model.coupled_part(bowl_c) if melting else 1.0
        hidden_c = x[_HIDDEN]
        through = hidden_c * self.coupled / rates.plate_s
        net_lost = bowl_lost - rates.mass * x[_DRIFT]
        mixed = rates.gain * heat - still - blown - net_lost
        if melting:
            hides = 1.0 - model.sensible_share(bowl_c)
            mixed -= hides * (through - bowl_lost / (1.0 - rates.share))
        per_s = 1.0 / (rates.element_s + _HALF_S)
        out_s = self._fed_s * per_s
        first_c = x[_FIRST]
        x[_MIXED] += s * mixed
        x[_HIDDEN] = hidden_c + s * (
            rates.gain * out_s - still - blown + rates.odds * net_lost - through
        )
        warms = through - net_lost * (1 + rates.odds)
        if warms > 0 < x[_DRIFT] and bowl_c < _SETTING_C and not melting:
            x[_DRIFT] -= s * x[_DRIFT] * warms / (_SET_NO_MORE_C - bowl_c)
        x[_FIRST] = first_c + s * (bowl_c - first_c) / (rates.probe_s + _HALF_S)
        x[_SECOND] += s * (first_c - x[_SECOND]) / (rates.second_s + _HALF_S)
        self._by_lag_s += s * (out_s * rates.element_s - self._by_lag_s) * per_s
        self._fed_s += s * (heat - out_s)

    def slopes_of_heat(self, x, heat, fan, s):
        """How mixed and hidden heat after `s` follow from what they hang on; the order is carry's.

        That the mixed one hangs as the hidden one on FAN is told once.
        """
        rates, hidden_c, element_c = self._rates, x[_HIDDEN], self.element_c
        _, still, blown, bowl_lost = self._see(x, fan)
        share, odds, bowl_loss = rates.share, rates.odds, rates.bowl_loss
        loss = rates.plate_loss + rates.fan * fan
        uneven = s * loss * (1.0 / share - 1.0)
        whole, turned = s * (loss + bowl_loss), s * (loss - odds * bowl_loss)
        still, blown, bowl_lost = s * still, s * blown, s * bowl_lost
        by_lag_c = rates.gain * self._by_lag_s * rates.per_element
        per_s = 1.0 / (rates.element_s + _HALF_S)
        coupled = s * self.coupled / rates.plate_s
        through = hidden_c * coupled
        back_per_odds = bowl_lost - s * rates.mass * x[_DRIFT]
        back = odds * back_per_odds
        of_share = s * loss * hidden_c / share
        m_g = s * rates.gain * heat + whole * element_c
        m_k = m_g + of_share - still - blown - back_per_odds
        h_g = s * element_c * per_s + turned * element_c
        h_s = of_share + back / (1.0 - share) - through * odds
        h_k = h_g + h_s + back - still - blown
        of_lag_c = by_lag_c - rates.per_element * rates.element_s * per_s * element_c
        h_e = s * of_lag_c * per_s + turned * by_lag_c
        return (
            1.0 - whole, s * bowl_loss - uneven, s * rates.mass, m_g, -still - bowl_lost, -blown,
            of_share, m_k, whole, whole * by_lag_c,
            -turned, 1.0 - uneven - s * odds * bowl_loss - coupled, -s * odds * rates.mass, h_g,
            odds * bowl_lost - still, through * rates.per_plate, h_s, h_k, turned, h_e,
        )  # fmt: skip

    def slopes_of_probe(self, x, s):
        """The same of both lags of the probe."""
        rates = self._rates
        bowl_c = x[_MIXED] - x[_HIDDEN] - self.element_c
        first_part = s / (rates.probe_s + _HALF_S)
        second_part = s / (rates.second_s + _HALF_S)
        slower = second_part * second_part / s * (x[_SECOND] - x[_FIRST])
        return (
            first_part, -first_part * self.element_c,
            rates.per_probe * rates.probe_s / s * first_part * first_part * (x[_FIRST] - bowl_c),
            -first_part * rates.gain * self._by_lag_s * rates.per_element,
            second_part, rates.per_probe * rates.second_s * slower, rates.probe_s * slower,
        )  # fmt: skip
