"""Where the heat is: one joint Kalman filter over temperatures and the rig's parameters.

States: MIXED, the temperature when all heat, that on its way included, is even; HIDDEN, how far
the plate's heat lifts it above the chocolate (share * (plate - chocolate)); two lags of the probe;
DRIFT, a rate that nothing explains. Then the parameters of `model`. Where nothing may be learned
(fat melts or sets, chocolate is poured), the parameters stay, but their doubt still counts:
Schmidt's consider filter.

The states move each second. The covariance takes two seconds at once and the readings go in by
twos, in turn: no call does both, and a board has half of the sums. Numbers that stay lie in rows
made once, in single precision as a board's.
"""

from rigfw import model
from rigfw.flows import Flows
from rigfw.folded import const
from rigfw.model import ALL, ELEMENT, GAIN, MASS, PLATE, PROBE, STATES

MIXED, HIDDEN, FIRST, SECOND, DRIFT = range(STATES)
NOISE_C2 = 0.0006  # of the mean of two readings: 1/16 K steps, 0.02 K of noise, not quite white
LEARN_NOISE_C2 = 0.001  # own choice, on top of it where something is learned; besides,
LEARN_DOUBT_C2 = (
    0.2  # own choice: by the square of what is doubted of the lags, for what a reading
)
# says of them is only straight near them: a filter that believes too soon stays wrong
STILL_Q = (4e-8, 4e-6, 2e-6, 0.0, 5e-10)
_MELTING_Q = (1e-3, 1e-3, 1e-6, 1e-6, 1e-8)
_GAIN_Q = const(2e-6)
GAIN_MOST = 0.0025  # the mains wander
_MASS_Q = const(1e-4)  # 85 % poured out in 40 minutes is a logarithm of 1.9,
_POURED = const(3)  # own choice: by this times the variance some of it is taken for granted, up to
_POURED_MOST = const(1)  # here: taken for too light a bowl is held slowly, for too heavy it swings
_STRANGE = const(12.0)  # own choice: three and a half sigmas
_TURN_S = const(1.5)  # from here on the covariance moves
_MOST = const(1.6)  # no parameter goes further than e to this from its description
_MOST_ROOM_C = const(12.0)
_LAG_LEAST = const(-0.75)
_MASS_LEAST = const(-0.3)  # a bowl may also get a ladle more


class Estimator:
    """`x` the states, then the parameters; `p` their covariance, kept full. Allocates floats."""

    def __init__(self, rates):
        self.rates = rates
        self.flows = Flows(rates)
        self.x = model.zeros(ALL)
        self.p = [model.zeros(ALL) for _ in range(ALL)]
        self._moved = [model.zeros(4) for _ in range(ALL)]
        self._twice = [model.zeros(4) for _ in range(4)]
        self._seen = model.zeros(ALL)

    def start(self, reading_c, hidden_c):
        """Everything at the reading; the plate may differ by `hidden_c` in mixed K (sigma).

        The parameters and their doubt are what `x` and `p` have.
        """
        x = self.x
        self.rates.set(x)
        x[MIXED] = x[FIRST] = x[SECOND] = reading_c
        x[HIDDEN] = x[DRIFT] = 0.0
        self.flows.rest()
        self.off_c = self._off_c = self._heat_s = self._fan_s = self._since_s = 0.0
        self._offs = 0
        self.forget(0.05 + hidden_c * hidden_c, hidden_c * hidden_c, 1e-6)

    def forget(self, mixed_c2, hidden_c2, drift_c2):
        """The states are only known so well, and nothing binds them to the parameters."""
        p = self.p
        for at in range(STATES):
            for other in range(ALL):
                p[at][other] = p[other][at] = 0.0
        for at, variance in enumerate((mixed_c2, hidden_c2, 0.25 * mixed_c2, 0.01, drift_c2)):
            p[at][at] = variance

    @property
    def bowl_c(self):
        """The chocolate."""
        return self.x[MIXED] - self.x[HIDDEN] - self.flows.element_c

    @property
    def plate_c(self):
        """The plate."""
        return self.bowl_c + self.x[HIDDEN] / self.rates.share

    def predict(self, heat, fan, s, melting, pouring):
        """`s` (at most 1) later, with so much heat and fan (0..1) in between."""
        self._since_s += s
        self._heat_s += s * heat
        self._fan_s += s * fan
        if self._since_s >= _TURN_S:
            self._carry(melting, pouring)
        self.flows.move(self.x, heat, fan, s, melting)

    def _carry(self, melting, pouring):
        """The covariance over the seconds since it moved last."""
        p, s = self.p, self._since_s
        heat, fan = self._heat_s / s, self._fan_s / s
        self._since_s = self._heat_s = self._fan_s = 0.0
        of_heat = self.flows.slopes_of_heat(self.x, heat, fan, s)
        of_probe = self.flows.slopes_of_probe(self.x, s)
        carry(of_heat, of_probe, p, self._moved)
        carry(of_heat, of_probe, self._moved, self._twice)
        for at in range(ALL):
            moved = self._twice[at] if at < 4 else self._moved[at]
            for row in range(4):
                p[row][at] = p[at][row] = moved[row]
        noise = _MELTING_Q if melting else STILL_Q
        for at in range(STATES):
            p[at][at] += noise[at] * s
        if p[GAIN][GAIN] < GAIN_MOST:
            p[GAIN][GAIN] += _GAIN_Q * s
        if pouring:  # what is hidden in the plate is more of the whole then
            x, variance, hidden_c = self.x, _MASS_Q * s, self.x[HIDDEN]
            poured = _POURED * variance if x[MASS] < _POURED_MOST else 0
            changed = ((MIXED, hidden_c + self.flows.element_c), (HIDDEN, hidden_c), (MASS, 1))
            for at, by in changed:
                x[at] += poured * by
                for other, also in changed:
                    p[at][other] += variance * by * also

    def correct(self, reading_c, learns, own, at_once):
        """Take one reading in; the second of two moves `x`, any `at_once`.

        Parameters move only where something is learned; `own` (MASS, GAIN or ALL for none) does
        always. True when `x` moved.
        """
        self._off_c += reading_c - self.x[SECOND]
        self._offs += 1
        if self._since_s == 0.0 and not at_once:
            return False
        self.off_c = off_c = self._off_c / self._offs
        self._off_c, self._offs = 0.0, 0
        p = self.p
        whole = p[SECOND][SECOND] + NOISE_C2
        if learns:
            doubt = p[PLATE][PLATE] + p[PROBE][PROBE] + p[ELEMENT][ELEMENT]
            whole += LEARN_NOISE_C2 + LEARN_DOUBT_C2 * doubt * doubt
        if off_c * off_c > _STRANGE * whole:  # seed, a ladle, hands: the chocolate, not the rig
            whole = off_c * off_c / _STRANGE
            p[MIXED][MIXED] += off_c * off_c
            learns, own = False, ALL
        self._take(off_c, whole, learns, own)
        if learns or own < ALL:
            self._bound()
            self.rates.set(self.x)
        return True

    def _take(self, off_c, whole, learns, own):
        x, p, seen = self.x, self.p, self._seen
        for at in range(ALL):
            seen[at] = p[SECOND][at]
        for row in range(ALL):
            if not (row < STATES or learns or row == own):
                continue
            part = seen[row] / whole
            x[row] += part * off_c
            line = p[row]
            for column in range(row if learns or row < STATES else STATES, ALL):
                line[column] -= part * seen[column]
                p[column][row] = line[column]

    def _bound(self):
        x = self.x
        for at in range(STATES, ALL):
            most = _MOST_ROOM_C if at == model.ROOM else _MOST
            x[at] = max(-most, min(most, x[at]))
        for at in (PLATE, PROBE, ELEMENT):
            x[at] = max(_LAG_LEAST, x[at])
        x[MASS] = max(_MASS_LEAST, x[MASS])


def carry(of_heat, of_probe, rows, out):
    """What is in each column of `rows`, one value for each of ALL, moves the four states by so
    much: into the rows of `out`. Written out, for this is most of a step."""
    (m_m, m_h, m_d, m_g, m_l, of_f, m_s, m_k, m_r, m_e,
     h_m, h_h, h_d, h_g, h_l, h_p, h_s, h_k, h_r, h_e) = of_heat  # fmt: skip
    first, f_g, f_p, f_e, second, s_p, s_l = of_probe
    mixed, hidden, former, latter, drift = rows[:STATES]
    gain, loss, blown, plate, probe, share, mass, room, element, later = rows[STATES:]
    for at in range(len(out)):
        a, b, c, d, g = mixed[at], hidden[at], former[at], drift[at], gain[at]
        u, q, s, k = loss[at], probe[at], share[at], mass[at]
        r, e, n, z = room[at], element[at], of_f * blown[at], latter[at]
        line = out[at]
        line[0] = (
            m_m * a + m_h * b + m_d * d + m_g * g + m_l * u
            + n + m_s * s + m_k * k + m_r * r + m_e * e
        )  # fmt: skip
        line[1] = (
            h_m * a + h_h * b + h_d * d + h_g * g + h_l * u + n
            + h_p * plate[at] + h_s * s + h_k * k + h_r * r + h_e * e
        )  # fmt: skip
        line[2] = c + first * (a - b - c) + f_g * (g + k) + f_p * q + f_e * e
        line[3] = z + second * (c - z) + s_p * q + s_l * later[at]
