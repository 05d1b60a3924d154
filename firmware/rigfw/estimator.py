"""Where the heat is: one joint Kalman filter over temperatures and the rig's parameters.

States: MIXED, the temperature when all heat, that on its way included, is even; HIDDEN, how far
the plate's heat lifts it above the chocolate (share * (plate - chocolate)); two lags of the probe;
DRIFT, a rate that nothing explains. Then the parameters of `model`. Where nothing may be learned
(fat melts or sets, chocolate is poured), the parameters stay, but their doubt still counts:
Schmidt's consider filter. Sums of small and large numbers are few, so that single precision does.
"""

from rigfw import model
from rigfw.flows import (
    ALL,
    DRIFT,
    FIRST,
    HIDDEN,
    MIXED,
    OF_GAIN,
    OF_MASS,
    OF_ROOM,
    SECOND,
    STATES,
    USES,
    Flows,
)

NOISE_C2 = 0.0010  # 1/16 K steps, 0.02 K of noise, and both are not quite white
LEARN_NOISE_C2 = 0.008  # own choice: a rig is never quite this model
STILL_Q = (4e-8, 4e-6, 2e-6, 0.0, 5e-10)
MELTING_Q = (1e-3, 1e-3, 1e-6, 1e-6, 1e-8)
GAIN_Q, GAIN_MOST = 2e-6, 0.0025  # the mains wander
MASS_Q = 1e-4  # 85 % poured out in 40 minutes is a logarithm of 0.5 to 1.5
STRANGE = 12.0  # own choice: three and a half sigmas


class Estimator:
    """`x` the states, then the parameters; `p` their covariance, kept full. Allocates floats."""

    def __init__(self, rates, logs, spread):
        self.rates = rates
        self.x = [0.0] * STATES + logs
        self.p = [model.zeros(ALL) for _ in range(ALL)]
        for at in range(model.COUNT):
            for other in range(model.COUNT):
                self.p[STATES + at][STATES + other] = spread[at][other]
        self._moved = [model.zeros(ALL) for _ in range(4)]
        self._gain = model.zeros(ALL)
        self._seen = model.zeros(ALL)
        self.off_c = 0.0
        self._has_gain = False
        rates.set(logs)
        self.flows = Flows(rates)

    def start(self, reading_c, hidden_c):
        """Everything at the reading; the plate may differ by `hidden_c` in mixed K (sigma)."""
        x = self.x
        x[MIXED] = x[FIRST] = x[SECOND] = reading_c
        x[HIDDEN] = x[DRIFT] = 0.0
        self.flows.rest()
        self.forget(0.05 + hidden_c * hidden_c, hidden_c * hidden_c, 1e-6)

    def forget(self, mixed_c2, hidden_c2, drift_c2):
        """The states are only known so well, and nothing binds them to the parameters."""
        for at in range(STATES):
            for other in range(ALL):
                self.p[at][other] = self.p[other][at] = 0.0
        for at, variance in enumerate((mixed_c2, hidden_c2, 0.25 * mixed_c2, 0.01, drift_c2)):
            self.p[at][at] = variance

    @property
    def bowl_c(self):
        """The chocolate."""
        return self.x[MIXED] - self.x[HIDDEN] - self.flows.element_c

    @property
    def plate_c(self):
        """The plate."""
        return self.bowl_c + self.x[HIDDEN] / self.rates.share

    def predict(self, heat, fan, passed_s, melting, pouring):
        """`passed_s` (at most 2) later, with so much heat and fan (0..1) in between."""
        self._has_gain = not (melting or pouring)
        self.flows.move(self.x, heat, fan, passed_s, melting)
        self._carry()
        self._spread()
        noise = MELTING_Q if melting else STILL_Q
        for at in range(STATES):
            self.p[at][at] += noise[at] * passed_s
        if self.p[OF_GAIN][OF_GAIN] < GAIN_MOST:
            self.p[OF_GAIN][OF_GAIN] += GAIN_Q * passed_s
        if pouring:
            self._pour(MASS_Q * passed_s)

    def _pour(self, variance):
        """Mass may have left the bowl: what is hidden in the plate is more of the whole then."""
        p, hidden_c = self.p, self.x[HIDDEN]
        changed = ((MIXED, hidden_c + self.flows.element_c), (HIDDEN, hidden_c), (OF_MASS, 1.0))
        for at, by in changed:
            for other, also in changed:
                p[at][other] += variance * by * also

    def _carry(self):
        """F P for the four rows of F that are not trivial, written out: this is most of a step."""
        mixed, hidden, first, second, drift = self.p[:STATES]
        gain, loss, blown, plate, probe, share, mass, room, element, later = self.p[STATES:]
        slopes = self.flows.slopes
        m_m, m_h, m_d, m_g, m_l, m_f, m_s, m_k, m_r, m_e = [slopes[0][at] for at in USES[0]]
        h_m, h_h, h_d, h_g, h_l, h_f, h_p, h_s, h_k, h_r, h_e = [slopes[1][at] for at in USES[1]]
        f_m, f_h, f_f, f_g, f_p, f_k, f_e = [slopes[2][at] for at in USES[2]]
        s_f, s_s, s_p, s_l = [slopes[3][at] for at in USES[3]]
        to_mixed, to_hidden, to_first, to_second = self._moved
        for at in range(ALL):
            a, b, c, q = mixed[at], hidden[at], first[at], probe[at]
            g, k, u, n = gain[at], mass[at], loss[at], blown[at]
            s, r, e = share[at], room[at], element[at]
            to_mixed[at] = (
                m_m * a + m_h * b + m_d * drift[at] + m_g * g + m_l * u
                + m_f * n + m_s * s + m_k * k + m_r * r + m_e * e
            )  # fmt: skip
            to_hidden[at] = (
                h_m * a + h_h * b + h_d * drift[at] + h_g * g + h_l * u + h_f * n
                + h_p * plate[at] + h_s * s + h_k * k + h_r * r + h_e * e
            )  # fmt: skip
            to_first[at] = f_m * a + f_h * b + f_f * c + f_g * g + f_p * q + f_k * k + f_e * e
            to_second[at] = s_f * c + s_s * second[at] + s_p * q + s_l * later[at]

    def _spread(self):
        """(F P) F' into `p`, which stays symmetric."""
        p, slopes = self.p, self.flows.slopes
        for row in range(4):
            out = self._moved[row]
            for column in range(row, 4):
                factors, total = slopes[column], 0.0
                for at in USES[column]:
                    total += factors[at] * out[at]
                p[row][column] = p[column][row] = total
            for column in range(DRIFT, ALL):
                p[row][column] = p[column][row] = out[column]

    def correct(self, reading_c, learns, pouring):
        """Take one reading in. Parameters move only where something is learned."""
        p, seen = self.p, self._seen
        whole = p[SECOND][SECOND] + (LEARN_NOISE_C2 if learns else NOISE_C2)
        self.off_c = off_c = reading_c - self.x[SECOND]
        if off_c * off_c > STRANGE * whole:  # seed, a ladle, hands: the chocolate, not the rig
            p[MIXED][MIXED] += off_c * off_c
            learns = False
        own = OF_MASS if pouring else OF_GAIN if self._has_gain else ALL
        for at in range(ALL):
            seen[at] = p[SECOND][at]
            moves = at < STATES or learns or at == own
            self._gain[at] = seen[at] / whole if moves else 0.0
        self._take(off_c, learns)
        if learns or own < ALL:
            self._bound()
            self.rates.set(self.x[STATES:])

    def _take(self, off_c, learns):
        x, p, seen = self.x, self.p, self._seen
        for row in range(ALL):
            part = self._gain[row]
            if part == 0.0:
                continue
            x[row] += part * off_c
            line = p[row]
            for column in range(row if learns or row < STATES else STATES, ALL):
                line[column] -= part * seen[column]
                p[column][row] = line[column]

    def _bound(self):
        x = self.x
        for at in range(STATES, ALL):
            most = model.MOST_ROOM_C if at == OF_ROOM else model.MOST
            x[at] = max(-most, min(most, x[at]))
        x[OF_MASS] = max(model.MASS_LEAST, x[OF_MASS])
