"""The rig in ten numbers: what a description says of them, and how far it may be wrong.

Every figure is a rate of the whole heat capacity C = chocolate and plate, so that W and J/K never
appear again. Temperatures degC, times s in here. Logarithms of the parameters are learned, but of
the lags marked * how much more they are than described, as a part of it: they come one after the
other, so a reading shows their sum, and a sum is straight in them:

    GAIN   heater power / C, K/s          LOSS   loss in still air / C, 1/s
    FAN    what a full fan adds / C, 1/s  PLATE* plate's J/K / its coupling, s
    PROBE* the probe's lag, s             SHARE  plate's J/K / C
    MASS   ln of the mass in the bowl at first over the mass now: scales gain, losses and share
    ROOM   room temperature, degC over the default (not a logarithm)
    ELEMENT* the heater's own lag, s
    SECOND   the probe's second lag over its first, more than _SECOND_PART (not a logarithm)

They stand in this order behind the STATES of the estimator: in its row of numbers `x` and in its
covariance `p`, rows of numbers.
"""

from array import array
from math import exp

from rigfw.folded import const

_SPECIFIC_J_PER_KG_K = const(1600.0)  # Manufacturing Confectioner 1991, Beckett 2009 p. 667
_LATENT_C = const(28.75)  # 46 kJ/kg (Chevalley 1970, in Beckett 2009 p. 668) over the former
_MELT_FROM_C = const(20.0)  # these three a triangle: assumption
_MELT_PEAK_C = const(32.0)
_MELT_TO_C = const(35.5)
_SOLID_PART = const(0.37)  # of the coupling while in pieces: 0.25 to 0.5, assumption
_PASTE_SHARE = const(0.5)  # of the fat still solid: so far pieces hold it down; assumption
_PLATE_LOSS_PART = const(0.6)  # of the loss in still air, straight from the plate; assumption
_ROOM_C = const(21.0)
_ELEMENT_S = const(11.5)  # the heater's own lag: 3 to 20 s, assumption
_SECOND_PART = const(0.2)  # of the probe's lag in a second one: 0 to 0.4, assumption

STATES = 5
COUNT = 10
ALL = STATES + COUNT
GAIN, LOSS, FAN, PLATE, PROBE, SHARE, MASS, ROOM, ELEMENT, SECOND = range(STATES, ALL)
SIGMA = (0.08, 0.30, 0.27, 0.42, 0.47, 0.0, 0.0, 3.0, 0.43, 0.115)
"""How far a description may be wrong (own choices: factor 2 at two sigmas and more); besides,"""
_WHOLE_C2 = const(0.0016)  # the logarithm of the chocolate's heat capacity, and
_PLATE_C2 = const(0.1024)  # of the plate's: these move all rates at once
WIDER_SIGMA = (0.03, 0.05, 0.08, 0.05, 0.05, 0.03, 0.0, 1.0, 0.1, 0.01)
"""What may have changed between two runs: mains, draught, dust on the fan, another bowl."""


def zeros(count):
    """Numbers that lie together: single ones would strew a board's heap."""
    return array("f", [0.0] * count)


class Model:
    """A description turned into rates of a mass; `set` puts the learned logarithms in."""

    def __init__(self, config):
        self._config = config

    def begin(self, mass_g):
        """A bowl of this mass."""
        config = self._config
        plate_j_per_k = float(config.plate_j_per_k)
        whole_j_per_k = max(mass_g, 100) * (_SPECIFIC_J_PER_KG_K / 1000.0) + plate_j_per_k
        self._gain = config.heater_w / whole_j_per_k
        self._loss = max(config.loss_mw_per_k, 50) / 1000.0 / whole_j_per_k
        self._fan = max(config.fan_loss_mw_per_k, 50) / 1000.0 / whole_j_per_k
        self._plate_s = plate_j_per_k / config.plate_w_per_k
        self._probe_s = max(config.probe_lag_ms / 1000.0, 2.0)
        self._share = plate_j_per_k / whole_j_per_k

    def set(self, x):
        """Rates of now from the parameters in `x`."""
        gain, loss, fan, plate, probe, share, mass, room_c, element, second = x[STATES:]
        self.mass = mass = exp(mass)
        self.gain = self._gain * exp(gain) * mass
        loss = self._loss * exp(loss) * mass
        self.plate_loss = _PLATE_LOSS_PART * loss
        self.bowl_loss = loss - self.plate_loss
        self.fan = self._fan * exp(fan) * mass
        self.probe_s = probe_s = self._probe_s * (1.0 + probe)
        self.second_s = max(1.0, (_SECOND_PART + second) * probe_s)
        self.share = share = min(0.9, self._share * exp(share) * mass)
        self.odds = share / (1.0 - share)
        self.plate_s = max(4.0, self._plate_s * (1.0 + plate) * (1.0 - share))
        self.room_c = _ROOM_C + room_c
        self.element_s = _ELEMENT_S * (1.0 + element)
        self.per_plate, self.per_probe = 1.0 / (1.0 + plate), 1.0 / (1.0 + probe)
        self.per_element = 1.0 / (1.0 + element)

    def prior(self, p):
        """What is known of the parameters before anything is learned, into `p`.

        Plate and chocolate's J/K move all rates at once, so what the gain shows, the share knows.
        """
        none, plate, whole = 0.0, self._share, 1.0 - self._share
        by_plate = (-plate, -plate, -plate, 1.0, none, whole, none, none, none, none)
        by_whole = (-whole, -whole, -whole, none, none, -whole, none, none, none, none)
        for at in range(COUNT):
            line = p[STATES + at]
            for other in range(COUNT):
                line[STATES + other] = (
                    _PLATE_C2 * by_plate[at] * by_plate[other]
                    + _WHOLE_C2 * by_whole[at] * by_whole[other]
                )
        widen(p, SIGMA)


def widen(p, sigmas):
    """Less sure of each parameter by so much."""
    for at in range(COUNT):
        p[STATES + at][STATES + at] += sigmas[at] * sigmas[at]


def know(x, p, at, value, sigma):
    """One parameter is known from elsewhere."""
    for other in range(ALL):
        p[at][other] = p[other][at] = 0.0
    x[at], p[at][at] = value, sigma * sigma


def room_over_c(room_c):
    """What ROOM is in such a room."""
    return room_c - _ROOM_C


def coupled_part(at_c):
    """Share of the stirred coupling that there is while pieces melt, 0 to 1."""
    width = _MELT_TO_C - _MELT_FROM_C
    up_c, down_c = max(at_c - _MELT_FROM_C, 0.0), max(_MELT_TO_C - at_c, 0.0)
    if at_c < _MELT_PEAK_C:
        solid = 1.0 - up_c * up_c / (width * (_MELT_PEAK_C - _MELT_FROM_C))
    else:
        solid = down_c * down_c / (width * (_MELT_TO_C - _MELT_PEAK_C))
    return 1.0 - (1.0 - _SOLID_PART) * min(1.0, solid / _PASTE_SHARE)


def sensible_share(at_c):
    """Share of the heat into melting chocolate that shows as temperature, 0 to 1."""
    up = (at_c - _MELT_FROM_C) / (_MELT_PEAK_C - _MELT_FROM_C)
    down = (_MELT_TO_C - at_c) / (_MELT_TO_C - _MELT_PEAK_C)
    peak = 2.0 * _LATENT_C / (_MELT_TO_C - _MELT_FROM_C)
    return 1.0 / (1.0 + peak * max(0.0, min(up, down)))
