"""What the rig is, from one melt and cooling as a whole.

A filter that meets each reading once is led astray where two lags look alike. So the seconds in
which all is liquid and nothing sets are noted, and fitted afterwards, a few seconds at a time
while the batch goes on: simulated from the parameters found so far, with what each parameter does
to the readings carried along (Gauss and Newton's method); an upper triangle takes the rows in by
Givens rotations, which lose nothing in single precision. What was known before counts as rows too.
"""

from math import sqrt

from rigfw import model
from rigfw.flows import FIRST, HIDDEN, MIXED, SECOND, STATES, USES, Flows

ROW_S = 4  # a row: mean reading, heat in its first and second half, fan in both
MOST_ROWS = 500  # 3.5 KB, 33 minutes
LEAST_ROWS = 60  # own choice
PASSES = 10
NOISE_C = 0.026  # of a row, own choice: 0.015 from rounding and noise, as much from the rig's ways
MOST_STEP = 1.0
CLOSE = 2.0  # own choice: a pass that gains less than this is the last
STRANGE_C = 0.05  # own choice: a fit this poor has seen something else than this rig
KNOWN = [at for at in range(model.COUNT) if at != model.MASS]
GAIN_AT = KNOWN.index(model.GAIN)
FIRST_SIGMA = ((MIXED, 1.0), (HIDDEN, 0.7), (FIRST, 0.7), (SECOND, 0.7))
TREND_SIGMA = 0.04  # of the heater's gain over the whole lesson: the mains
UNKNOWN = len(KNOWN) + len(FIRST_SIGMA) + 2
TREND = UNKNOWN - 2
BEND = UNKNOWN - 1
BYTES = 7
PAGE_ROWS = 50  # in pieces: a heap has no long ones left


def pages():
    """Room for a lesson's notes."""
    return [bytearray(BYTES * PAGE_ROWS) for _ in range(MOST_ROWS // PAGE_ROWS)]


class Lesson:
    """`note` each second, `end`, then `study` each second until `is_done`; `tell` at any time."""

    def __init__(self, rates, logs, spread, notes=None):
        """`notes` is the room for them, of `pages`."""
        self._rates = rates
        self._before = list(logs)
        self._spread = spread
        self._notes = notes or pages()
        self.rows = 0
        self._fill = 0
        self._clear()
        self._left = 0  # passes
        self.is_open = True
        self.is_done = False
        self._least = None
        self.passes = 0

    def _clear(self):
        self._sum_c = 0.0
        self._heat = [0.0, 0.0]
        self._fan = [0.0, 0.0]

    def note(self, reading_c, heat, fan, passed_s):
        """Seconds with so much heat and fan, a reading at their end."""
        for _ in range(int(passed_s + 0.5)):
            if self.rows == MOST_ROWS:
                return
            half = 2 * self._fill // ROW_S
            self._heat[half] += heat
            self._fan[half] += fan
            self._sum_c += reading_c
            self._fill += 1
            if self._fill == ROW_S:
                self._keep()

    def _keep(self):
        notes, at = self._place(self.rows)
        mean = int(self._sum_c / ROW_S * 512.0 + 0.5)
        notes[at], notes[at + 1], notes[at + 2] = mean >> 16 & 255, mean >> 8 & 255, mean & 255
        for half in range(2):
            notes[at + 3 + half] = int(250.0 * self._heat[half] / (ROW_S / 2) + 0.5)
            notes[at + 5 + half] = int(250.0 * self._fan[half] / (ROW_S / 2) + 0.5)
        self.rows += 1
        self._fill = 0
        self._clear()

    def end(self):
        """Nothing more to note."""
        self.is_open = False
        if self.rows < LEAST_ROWS:
            self.is_done = True
            return
        self._found = [self._before[at] for at in KNOWN] + [0.0] * (UNKNOWN - len(KNOWN))
        first_c = self._reading(0)
        hidden_c = 0.6 * self._rates.gain * self._rates.plate_s
        warming = (self._reading(8) - first_c) / (8 * ROW_S)
        self._begin_c = first_c + warming * self._rates.probe_s + hidden_c
        self._hidden_c = hidden_c
        self._first_c = first_c
        self._rest = self._prior_rows(self._spread)
        self._left = PASSES
        self._open()

    def give_up(self):
        """Nothing was learned."""
        self.is_open = False
        self.is_done = True
        self._least = None

    def _place(self, row):
        return self._notes[row // PAGE_ROWS], BYTES * (row % PAGE_ROWS)

    def _reading(self, row):
        notes, at = self._place(row)
        return (notes[at] << 16 | notes[at + 1] << 8 | notes[at + 2]) / 512.0

    @staticmethod
    def _prior_rows(spread):
        """The inverse of the Cholesky factor of the known parameters' covariance."""
        size = len(KNOWN)
        low = [[0.0] * size for _ in range(size)]
        for row in range(size):
            for column in range(row + 1):
                total = spread[KNOWN[row]][KNOWN[column]]
                for at in range(column):
                    total -= low[row][at] * low[column][at]
                if row == column:
                    low[row][row] = sqrt(max(total, 1e-6))
                else:
                    low[row][column] = total / low[column][column]
        out = [model.zeros(size) for _ in range(size)]
        for column in range(size):
            for row in range(column, size):
                total = 1.0 if row == column else 0.0
                for at in range(column, row):
                    total -= low[row][at] * out[at][column]
                out[row][column] = total / low[row][row]
        return out

    def _open(self):
        """A pass begins: parameters, first states, and what was known before."""
        found = self._found
        logs = list(self._before)
        for which, at in enumerate(KNOWN):
            logs[at] = found[which]
        self._logs = logs
        rates = self._rates
        rates.set(logs)
        self._flows = Flows(rates)
        self._x = [0.0] * STATES
        self._x[MIXED] = self._begin_c + found[len(KNOWN)]
        self._x[HIDDEN] = self._hidden_c + found[len(KNOWN) + 1]
        self._x[FIRST] = self._first_c + found[len(KNOWN) + 2]
        self._x[SECOND] = self._first_c + found[len(KNOWN) + 3]
        self._flows.fed_s = self._notes[0][3] / 250.0 * rates.element_s
        self._moves = [model.zeros(UNKNOWN) for _ in range(STATES)]
        for at, (state, _) in enumerate(FIRST_SIGMA):
            self._moves[state][len(KNOWN) + at] = 1.0
        self._triangle = [model.zeros(UNKNOWN + 1 - at) for at in range(UNKNOWN)]
        self._at = 0
        self._square = self._odd = 0.0
        for row in self._rest:
            miss = 0.0
            for at in range(len(KNOWN)):
                miss += row[at] * (self._before[KNOWN[at]] - found[at])
            self._turn_in(list(row) + [0.0] * (UNKNOWN - len(KNOWN)) + [miss])
        sigmas = [sigma for _, sigma in FIRST_SIGMA] + [TREND_SIGMA, TREND_SIGMA]
        for at, sigma in enumerate(sigmas):
            place = len(KNOWN) + at
            row = [0.0] * (UNKNOWN + 1)
            row[place], row[UNKNOWN] = 1.0 / sigma, -found[place] / sigma
            self._turn_in(row)

    def study(self, rows):
        """So many noted rows more."""
        for _ in range(rows):
            if self._left and not self.is_done:
                self._row()

    def _row(self):
        notes, at = self._place(self._at)
        moves = self._moves[SECOND]
        sums_c = 0.125 * self._x[SECOND]
        slopes = [0.125 * one for one in moves]
        for half, weight in ((0, 0.5), (1, 0.375)):
            self._move(notes[at + 3 + half] / 250.0, notes[at + 5 + half] / 250.0)
            sums_c += weight * self._x[SECOND]
            moves = self._moves[SECOND]
            for which in range(UNKNOWN):
                slopes[which] += weight * moves[which]
        miss = self._reading(self._at) - sums_c
        self._square += miss * miss
        slopes.append(miss)
        self._turn_in([one / NOISE_C for one in slopes])
        self._at += 1
        if self._at == self.rows:
            self._close()

    def _move(self, heat, fan):
        """Two seconds: the states and what moves them."""
        share = 2.0 * self._at / self.rows - 1.0
        found = self._found
        strong = 1.0 + found[TREND] * share + found[BEND] * (2.0 * share * share - 1.0)
        self._flows.move(self._x, heat * strong, fan, 2.0, False)
        slopes, moves = self._flows.slopes, self._moves
        by_gain = heat * self._rates.gain * 2.0
        out = []
        for row in range(4):
            line, uses = slopes[row], [at for at in USES[row] if at < STATES]
            new = [0.0] * UNKNOWN
            for at in uses:
                by, old = line[at], moves[at]
                for which in range(UNKNOWN):
                    new[which] += by * old[which]
            for which, at in enumerate(KNOWN):
                if STATES + at in USES[row]:
                    new[which] += line[STATES + at]
            out.append(new)
        out[MIXED][TREND] += by_gain * share
        out[MIXED][BEND] += by_gain * (2.0 * share * share - 1.0)
        for row in range(4):
            for which in range(UNKNOWN):
                moves[row][which] = out[row][which]

    def _turn_in(self, row):
        """One more row into the triangle; its last column is what is missed."""
        self._odd += row[-1] * row[-1]
        for at, line in enumerate(self._triangle):
            by = row[at]
            if by == 0.0:
                continue
            own = line[0]
            whole = sqrt(own * own + by * by)
            c, s = own / whole, by / whole
            for column in range(len(line)):
                old, new = line[column], row[at + column]
                line[column] = c * old + s * new
                row[at + column] = c * new - s * old

    def _close(self):
        """The pass is over: where it was worse than before, half the way back, else a step on."""
        self._left -= 1
        self.passes += 1
        gained = None if self._least is None else self._least - self._odd
        if gained is None or gained > 0.0:
            self._least, self._best, self._kept = self._odd, list(self._found), self._triangle
            self.miss_c = sqrt(self._square / self.rows)
            step = self._step()
        else:
            step = [0.5 * (self._found[at] - self._best[at]) for at in range(UNKNOWN)]
        if self._left and not (gained is not None and 0.0 < gained < CLOSE):
            self._found = [self._best[at] + step[at] for at in range(UNKNOWN)]
            self._open()
            return
        self.is_done = True

    def _step(self):
        """Where the triangle points from here, at most MOST_STEP in each parameter."""
        lines = self._triangle
        step = [0.0] * UNKNOWN
        for at in range(UNKNOWN - 1, -1, -1):
            line = lines[at]
            total = line[-1]
            for other in range(at + 1, UNKNOWN):
                total -= line[other - at] * step[other]
            step[at] = total / line[0]
        farthest = 0.0
        for at in range(len(KNOWN)):
            if KNOWN[at] != model.ROOM:
                farthest = max(farthest, abs(step[at]))
        part = min(1.0, MOST_STEP / max(farthest, 1e-3))
        return [part * one for one in step]

    def tell(self):
        """Logs and covariance of the best so far, as `model` has them, or None."""
        if self._least is None or not self.miss_c < STRANGE_C:
            return None
        size, lines, known = UNKNOWN, self._kept, len(KNOWN)
        inverse = [[0.0] * size for _ in range(size)]
        for column in range(size):
            for row in range(column, -1, -1):
                total = 1.0 if row == column else 0.0
                for at in range(row + 1, column + 1):
                    total -= lines[row][at - row] * inverse[at][column]
                inverse[row][column] = total / lines[row][0]
        spread = [[0.0] * model.COUNT for _ in range(model.COUNT)]
        for row in range(known):
            for column in range(row + 1):
                total = 0.0
                for at in range(row, size):
                    total += inverse[row][at] * inverse[column][at]
                a, b = KNOWN[row], KNOWN[column]
                spread[a][b] = spread[b][a] = total
        logs = list(self._before)
        for which, at in enumerate(KNOWN):
            logs[at] = self._best[which]
        return logs, spread
