"""The rig in ten numbers: what a description says of them, and how far it may be wrong.

Every figure is a rate of the whole heat capacity C = chocolate and plate, so that W and J/K never
appear again. Temperatures degC, times s in here. Logarithms of the parameters are learned:

    GAIN   heater power / C, K/s          LOSS   loss in still air / C, 1/s
    FAN    what a full fan adds / C, 1/s  PLATE  plate's J/K / its coupling, s
    PROBE  the probe's lag, s             SHARE  plate's J/K / C
    MASS   ln of the mass in the bowl at first over the mass now: scales gain, losses and share
    ROOM   room temperature, degC over the default (not a logarithm)
    ELEMENT  the heater's own lag, s
    SECOND   the probe's second lag over its first, more than SECOND_LAG_PART (not a logarithm)
"""

from array import array
from math import exp

SPECIFIC_J_PER_KG_K = 1600.0  # Manufacturing Confectioner 1991, in Beckett 2009 p. 667: 1590-1670
LATENT_J_PER_KG = 46000.0  # Chevalley 1970, in Beckett 2009 p. 668
MELT_FROM_C, MELT_PEAK_C, MELT_TO_C = 20.0, 32.0, 35.5  # a triangle, assumption
SOLID_PART = 0.37  # of the coupling while the chocolate is in pieces: 0.25 to 0.5, assumption
PASTE_SHARE = 0.5  # of the fat still solid: up to here pieces hold the coupling down; assumption
PLATE_LOSS_PART = 0.6  # of the loss in still air, straight from the plate; assumption
DEFAULT_ROOM_C = 21.0
ELEMENT_S = 8.5  # the heater's own lag: 3 to 20 s, assumption
SECOND_LAG_PART = 0.2  # of the probe's lag in a second one: 0 to 0.4, assumption

GAIN, LOSS, FAN, PLATE, PROBE, SHARE, MASS, ROOM, ELEMENT, SECOND = range(10)
COUNT = 10
RECORD = 2  # the form in which logarithms and covariance are handed on
WHOLE_C = 0.04  # sigma of the logarithm of the chocolate's heat capacity
PLATE_C = 0.32  # of the plate's
SOURCES = (
    # sigma, what it moves
    (0.08, ((GAIN, 1.0),)),
    (0.30, ((LOSS, 1.0),)),
    (0.27, ((FAN, 1.0),)),
    (0.30, ((PLATE, -1.0),)),
    (0.60, ((PROBE, 1.0),)),
    (0.50, ((ELEMENT, 1.0),)),
    (3.00, ((ROOM, 1.0),)),
    (0.115, ((SECOND, 1.0),)),
)
"""How far a description may be wrong (own choices: factor 2 at two sigmas and more)."""
WIDER_SIGMA = (0.03, 0.05, 0.08, 0.05, 0.05, 0.03, 0.0, 1.0, 0.1, 0.01)
"""What may have changed between two runs: mains, draught, dust on the fan, another bowl."""
MOST = 1.6  # no parameter goes further than e to this from its description
MOST_ROOM_C = 12.0
MASS_LEAST = -0.3  # a bowl may also get a ladle more


def zeros(count):
    """Numbers that lie together: single ones would strew a board's heap."""
    return array("d", [0.0] * count)


class Model:
    """A description turned into rates; `set` puts the learned logarithms in."""

    def __init__(self, config, mass_g):
        chocolate_j_per_k = max(mass_g, 100) / 1000.0 * SPECIFIC_J_PER_KG_K
        plate_j_per_k = float(config.plate_j_per_k)
        whole_j_per_k = chocolate_j_per_k + plate_j_per_k
        self._gain = config.heater_w / whole_j_per_k
        self._loss = max(config.loss_mw_per_k, 50) / 1000.0 / whole_j_per_k
        self._fan = max(config.fan_loss_mw_per_k, 50) / 1000.0 / whole_j_per_k
        self._plate_s = plate_j_per_k / config.plate_w_per_k
        self._probe_s = max(config.probe_lag_ms / 1000.0, 2.0)
        self._share = plate_j_per_k / whole_j_per_k
        self.set([0.0] * COUNT)

    def set(self, logs):
        """Rates of now from the logarithms (`ROOM`: degC over the default)."""
        self.mass = mass = exp(logs[MASS])
        self.gain = self._gain * exp(logs[GAIN]) * mass
        loss = self._loss * exp(logs[LOSS]) * mass
        self.plate_loss = PLATE_LOSS_PART * loss
        self.bowl_loss = loss - self.plate_loss
        self.fan = self._fan * exp(logs[FAN]) * mass
        self.probe_s = self._probe_s * exp(logs[PROBE])
        self.second_s = max(1.0, (SECOND_LAG_PART + logs[SECOND]) * self.probe_s)
        self.share = min(0.9, self._share * exp(logs[SHARE]) * mass)
        self.odds = self.share / (1.0 - self.share)
        self.plate_s = max(4.0, self._plate_s * exp(logs[PLATE]) * (1.0 - self.share))
        self.room_c = DEFAULT_ROOM_C + logs[ROOM]
        self.element_s = ELEMENT_S * exp(logs[ELEMENT])

    def prior(self):
        """The covariance of the logarithms before anything is learned, as a list of rows.

        Plate and chocolate's J/K move all rates at once, so what the gain shows, the share knows.
        """
        rows = [[0.0] * COUNT for _ in range(COUNT)]
        plate, bowl = -self._share, self._share - 1.0
        for sigma, moved in SOURCES + (
            (PLATE_C, ((GAIN, plate), (LOSS, plate), (FAN, plate), (SHARE, -bowl), (PLATE, 1.0))),
            (WHOLE_C, ((GAIN, bowl), (LOSS, bowl), (FAN, bowl), (SHARE, bowl))),
        ):
            for at, by in moved:
                for other, also in moved:
                    rows[at][other] += sigma * sigma * by * also
        return rows


def melted_share(at_c):
    """Share of the fat that is melted in chocolate that was solid, 0 to 1."""
    if at_c <= MELT_FROM_C:
        return 0.0
    if at_c >= MELT_TO_C:
        return 1.0
    width = MELT_TO_C - MELT_FROM_C
    if at_c < MELT_PEAK_C:
        return (at_c - MELT_FROM_C) ** 2 / (width * (MELT_PEAK_C - MELT_FROM_C))
    return 1.0 - (MELT_TO_C - at_c) ** 2 / (width * (MELT_TO_C - MELT_PEAK_C))


def coupled_part(at_c):
    """Share of the stirred coupling that there is while pieces melt, 0 to 1."""
    return 1.0 - (1.0 - SOLID_PART) * min(1.0, (1.0 - melted_share(at_c)) / PASTE_SHARE)


def sensible_share(at_c):
    """Share of the heat into melting chocolate that shows as temperature, 0 to 1."""
    if at_c <= MELT_FROM_C or at_c >= MELT_TO_C:
        return 1.0
    peak = 2.0 / (MELT_TO_C - MELT_FROM_C)
    if at_c < MELT_PEAK_C:
        density = peak * (at_c - MELT_FROM_C) / (MELT_PEAK_C - MELT_FROM_C)
    else:
        density = peak * (MELT_TO_C - at_c) / (MELT_TO_C - MELT_PEAK_C)
    return 1.0 / (1.0 + LATENT_J_PER_KG / SPECIFIC_J_PER_KG_K * density)


def widened(spread):
    """The covariance of a run ago, less sure by WIDER_SIGMA."""
    rows = [list(row) for row in spread]
    for at in range(COUNT):
        rows[at][at] += WIDER_SIGMA[at] * WIDER_SIGMA[at]
    return rows


def know_room(logs, spread, room_c):
    """A probe says what the room is, within half a degree."""
    logs[ROOM] = room_c - DEFAULT_ROOM_C
    for at in range(COUNT):
        spread[at][ROOM] = spread[ROOM][at] = 0.0
    spread[ROOM][ROOM] = 0.25


def forget_mass(logs, spread):
    """The next batch has a mass of its own, and it is on the scales."""
    logs[MASS] = 0.0
    for at in range(COUNT):
        spread[at][MASS] = spread[MASS][at] = 0.0
