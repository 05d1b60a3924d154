"""The regulator's parts against what is known from elsewhere, and what it must never do."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from hypothesis import given, settings
from hypothesis import strategies as st

from fw_fakes import BENCH, Plant
from rigfw import estimator as module
from rigfw import landing, model, relay
from rigfw.config import RigConfig
from rigfw.estimator import DRIFT, SECOND, Estimator
from rigfw.memory import FIGURES
from rigfw.model import ALL, ELEMENT, GAIN, MASS, STATES, Model
from rigfw.regulator import Regulator
from rigwire.messages import MISSING_MC
from rigwire.schedule import Step

CONFIG = RigConfig(**BENCH)
MELT = Step("melt", 48000, 300, 20000, 60000)
COOL = Step("cool", 28000, 300, 20000, 60000)
REWARM = Step("rewarm", 31500, 0, 20000, 34000)
WORK = Step("work", 31500, 3600, 20000, 34000)


@pytest.fixture
def double(monkeypatch):
    """Numbers that stay lie in 53 bits."""
    monkeypatch.setattr(model, "zeros", lambda count: [0.0] * count)


def _estimator(spread=None, logs=None):
    """Of the bench's rig; `spread` by parameter, variances of what is not known."""
    rates = Model(CONFIG)
    rates.begin(2000)
    made = Estimator(rates)
    made.x[STATES:] = logs or [0.0] * (ALL - STATES)
    made.start(40.0, 0.3)
    for at, variance in (spread or {}).items():
        made.p[at][at] = variance
    return made


def _drive(at):
    """Heat and fan, the same for two seconds."""
    return (1.0 if at % 90 < 40 else 0.0), (1.0 if at % 90 >= 60 else 0.0)


def _matrix(ours, heat, fan, s):
    """The derivatives that `carry` applies, as a matrix."""
    of_heat = ours.flows.slopes_of_heat(ours.x, heat, fan, s)
    out = np.zeros((ALL, 4))
    module.carry(of_heat, ours.flows.slopes_of_probe(ours.x, s), np.eye(ALL), out)
    matrix = np.eye(ALL)
    matrix[:4] = out.T
    return matrix


def test_the_linear_part_is_a_kalman_filter(double, monkeypatch):
    """States and covariance over 300 s of heat and fan as filterpy's KalmanFilter has them."""
    monkeypatch.setattr(module, "GAIN_MOST", 0.0)
    ours, offs, corrections = _estimator(), [], 0
    other = KalmanFilter(dim_x=STATES, dim_z=1)
    other.P = np.array([row[:STATES] for row in ours.p[:STATES]])
    other.H = np.eye(STATES)[[SECOND]]
    other.R, other.Q = np.array([[module.NOISE_C2]]), np.diag(module.STILL_Q) * 2.0
    off_c = np.random.default_rng(5).normal(0.0, 0.03, 300)
    for at in range(300):
        heat, fan = _drive(at)
        if at % 2:
            other.predict(F=_matrix(ours, heat, fan, 2.0)[:STATES, :STATES])
        ours.predict(heat, fan, 1.0, False, False)
        before = np.array(ours.x[:STATES])
        offs.append(off_c[at])
        if ours.correct(before[SECOND] + off_c[at], False, ALL, False):
            other.x = before.reshape(-1, 1)
            other.update(before[SECOND] + np.mean(offs))
            offs, corrections = [], corrections + 1
            assert ours.x[:STATES] == pytest.approx(other.x[:, 0], abs=1e-9)
        assert np.array([row[:STATES] for row in ours.p[:STATES]]) == pytest.approx(
            other.P, rel=1e-6, abs=1e-15
        )
    assert corrections == 150


@pytest.mark.parametrize("at", range(ALL))
def test_what_anything_does_is_what_the_derivatives_say(double, at):
    """A second with a number a little higher and lower, after a minute of heat and fan; the lags
    are not the described ones, so their parts and their logarithms differ."""
    step, moved = 1e-4, []
    for side in (step, 0.0, -step):
        one = _estimator(logs=[0.1, 0.2, -0.2, 0.3, -0.4, 0.1, 0.0, 1.0, 0.5, 0.05])
        for second in range(62):
            one.predict(*_drive(second), 1.0, False, False)
        one.x[at] += side
        if at == ELEMENT:  # what it holds hangs on all that was
            one.flows._fed_s += side * one.flows._by_lag_s * one.rates.per_element
        one.rates.set(one.x)
        matrix = _matrix(one, 1.0, 0.5, 1.0)
        one.flows.move(one.x, 1.0, 0.5, 1.0, False)
        moved.append((np.array(one.x[:4]), matrix[:4, at]))
    slope = (moved[0][0] - moved[2][0]) / (2.0 * step)
    assert slope == pytest.approx(moved[1][1], rel=1e-5, abs=1e-8)


def test_what_the_element_holds_hangs_on_its_lag_as_is_carried_along(double):
    """The derivative by the lag's logarithm over 200 s, against two other lags."""
    step, held_s = 1e-4, []
    for side in (step, 0.0, -step):
        one = _estimator(logs=[0.0] * 8 + [side, 0.0])
        for second in range(200):
            one.predict(*_drive(second), 1.0, False, False)
        held_s.append(one.flows._fed_s)
    slope_s = (held_s[0] - held_s[2]) / (2.0 * step)
    one = _estimator()
    for second in range(200):
        one.predict(*_drive(second), 1.0, False, False)
    assert one.flows._by_lag_s == pytest.approx(slope_s, rel=0.08)


def test_of_what_may_have_been_poured_some_is_taken_for_granted(double):
    """1e-4 of variance a second, and three times that of the mass's logarithm, up to 1: 0.15 after
    500 s, an hour later no more than 1 and a step. Where nothing is poured the mass stays."""
    poured, whole = _estimator(), _estimator()
    for second in range(500):
        poured.predict(*_drive(second), 1.0, False, True)
        whole.predict(*_drive(second), 1.0, False, False)
    assert poured.x[MASS] == pytest.approx(0.15, abs=0.0007)  # it moves every second second
    assert poured.p[MASS][MASS] == pytest.approx(0.05, rel=0.01)
    assert (whole.x[MASS], whole.p[MASS][MASS]) == (0.0, 0.0)
    for _ in range(3600):
        poured.predict(0.0, 0.0, 1.0, False, True)
    assert 1.0 <= poured.x[MASS] < 1.0007


def test_crystals_set_free_the_less_the_nearer_the_chocolate_is_to_where_they_melt(double):
    """From 30 to 32.5 degC their heat falls as the way to 34 degC; over 33 it stays, as in a melt
    and while the chocolate cools."""
    one = _estimator()
    one.start(30.0, 0.3)
    one.x[DRIFT], seen = 1e-3, []
    for _ in range(1200):
        before = one.bowl_c
        one.predict(0.6, 0.0, 1.0, False, False)
        seen.append((before, one.bowl_c, one.x[DRIFT]))
    warm = [drift / (34.0 - bowl_c) for _, bowl_c, drift in seen if bowl_c < 32.5]
    assert warm[-1] == pytest.approx(warm[30], rel=0.02)
    over = [drift for bowl_c, _, drift in seen if bowl_c > 33.0]
    assert len(over) > 10 and len(set(over)) == 1
    cooled = _estimator()
    cooled.start(32.0, 0.0)
    cooled.x[DRIFT] = 1e-4
    for _ in range(300):
        cooled.predict(0.0, 1.0, 1.0, False, False)
    assert cooled.x[DRIFT] == 1e-4


def _rates(gain, element_s=0.5, plate_s=1.0):
    return SimpleNamespace(gain=gain, element_s=element_s, plate_s=plate_s)


def _saw(loss, blown=0.0, lags=(0.5, 1.0)):
    """A held bowl under a relay of 10 s, gain 0.04 K/s: what is missing, starts, fan seconds."""
    rates = _rates(0.04, *lags)
    one = relay.Relay(10.0, 10.0)
    missing_c, seen, starts, fanned = 0.0, [], [], 0
    for at in range(6000):
        was_on = one.is_on
        one.plan(rates, loss, blown)
        one.decide(missing_c, rates, loss, (0.0, 0.0, 99.0, 99.0, 0.0), 1.0)
        if one.is_on and not was_on:
            starts.append(at)
        blows = one.is_braked and one.ahead_c(0.04, loss) - missing_c > 0.5 * one.swing_c
        fanned += blows
        missing_c -= (0.04 if one.is_on else 0.0) - loss - (blown if blows else 0.0)
        seen.append(missing_c)
    return seen[600:], starts[4:], fanned


def test_the_saw_of_a_relay_is_its_closed_form():
    """Loss l, gain g, shortest pulse t: p-p (g - l) t, period g t / l, within a second of each."""
    seen, starts, fanned = _saw(0.004)
    assert max(seen) - min(seen) == pytest.approx(0.036 * 10.0, abs=0.06)
    assert np.mean(np.diff(starts)) == pytest.approx(100.0, abs=11.0)
    assert np.mean(seen) == pytest.approx(0.0, abs=0.06)
    assert fanned == 0


def test_the_fan_lowers_a_saw_that_the_chocolate_would_feel():
    """With F in the fan a cycle is g t / (l + F / 2), but no less than 60 s."""
    _, starts, fanned = _saw(0.001, blown=0.004)
    assert np.mean(np.diff(starts)) == pytest.approx(0.4 / 0.003, rel=0.25)
    assert np.mean(np.diff(_saw(0.001)[1])) == pytest.approx(400.0, rel=0.1)
    assert fanned > 0
    assert min(np.diff(_saw(0.004, blown=0.05)[1])) >= relay.CYCLE_S


def test_lags_that_hide_a_saw_leave_the_fan_off():
    """What the chocolate does not feel is not worth the fan's noise."""
    assert _saw(0.001, blown=0.004, lags=(20.0, 300.0))[2] == 0


def test_what_the_chocolate_feels_of_a_saw_is_its_first_harmonic():
    """A saw of 1 K, 60 s, through lags of 60 / 2 pi s: half of 1 / pi."""
    lag_s = 60.0 / (2.0 * np.pi)
    assert relay.felt_c(1.0, 60.0, _rates(0.04, lag_s, lag_s)) == pytest.approx(0.5 / np.pi)


@pytest.mark.parametrize(("element_s", "plate_s"), [(3.0, 50.0), (11.0, 30.0), (30.0, 12.0)])
@pytest.mark.parametrize("hidden_c", [0.0, 0.3])
def test_the_plate_s_peak_is_foreseen_within_a_tenth(element_s, plate_s, hidden_c):
    """Against the two lags in steps of 10 ms under a pulse of 10 s."""
    rates, held_c, plate_c, most_c = _rates(0.04, element_s, plate_s), 0.0, hidden_c, hidden_c
    for at in range(20_000):
        out = held_c / element_s
        held_c += 0.01 * ((0.04 if at < 1000 else 0.0) - out)
        plate_c += 0.01 * (out - plate_c / plate_s)
        most_c = max(most_c, plate_c)
    assert relay.peak_c(hidden_c, 0.0, 0.4, rates, 10.0) == pytest.approx(most_c, rel=0.1)


def test_pulses_from_the_lowest_have_the_mean_that_was_asked():
    """Even pulses of p at every period of p / mean lags: lowest (1 - q) = p q, q = e^-(p / m)."""
    lowest_c = relay.lowest_c(0.4, 0.5)
    assert (lowest_c + 0.4) * np.exp(-0.4 / 0.5) == pytest.approx(lowest_c)


def _batch(regulator, seconds=9000):
    """A whole batch on three lumps of which the description is right; the trace in degC."""
    board = SimpleNamespace(heat_on=0.0, fan_permille=0)
    plant = Plant(2000, 38.0)
    plant.advance(board, 0.0)
    steps, trace, held_s = [MELT, COOL, REWARM, WORK], [], 0
    regulator.begin(2000)
    for _ in range(seconds):
        step = steps[0]
        readings = SimpleNamespace(
            product_mc=board.product_mc, plate_mc=MISSING_MC, room_mc=MISSING_MC
        )
        delivered = round(1000 * board.heat_on)
        regulator.demand(readings, step.target_mc, step, delivered, 1000)
        board.heat_on = regulator.heat_permille / 1000.0
        board.fan_permille = regulator.fan_permille
        for _ in range(4):
            plant.advance(board, 0.25)
        trace.append((step.kind, plant.product_c, plant.plate_c))
        held_s += abs(board.product_mc - step.target_mc) <= 200
        if held_s > min(step.hold_s, 600) and len(steps) > 1:
            steps.pop(0)
            held_s = 0
    return trace


def _of(trace, kind, column):
    return [row[column] for row in trace if row[0] == kind]


def test_a_batch_never_passes_its_targets():
    """No plate probe: 0.1 K at most on the far side, the plate under its limits, a quiet hold."""
    trace = _batch(Regulator(CONFIG))
    assert max(_of(trace, "melt", 1)) < 48.3
    assert min(_of(trace, "cool", 1)) > 27.9
    assert max(_of(trace, "rewarm", 1) + _of(trace, "work", 1)) < 31.6
    assert max(_of(trace, "rewarm", 2) + _of(trace, "work", 2)) < 34.0
    last = np.array(_of(trace, "work", 1)[600:])
    assert math.sqrt(np.mean((last - 31.5) ** 2)) < 0.03


def test_a_batch_in_single_precision(monkeypatch):
    """All sums in 24 bits: the chocolate stays within 0.05 K of where 53 bits hold it.

    The margin to the wall is a part of the covariance, which 24 bits know within some percent.
    """
    single = np.float32
    monkeypatch.setattr(model, "zeros", lambda count: [0.0] * count)
    in_double = _batch(Regulator(CONFIG), 6000)
    monkeypatch.setattr(model, "zeros", lambda count: [single(0.0)] * count)
    monkeypatch.setattr(model, "exp", lambda value: single(np.exp(single(value))))
    monkeypatch.setattr(landing, "sqrt", lambda value: single(np.sqrt(single(value))))
    regulator = Regulator(CONFIG)
    trace = _batch(regulator, 6000)
    of = regulator.estimator
    assert all(isinstance(value, single) for value in of.x[:SECOND])
    assert isinstance(of.p[0][0], single) and isinstance(of.rates.gain, single)
    assert [row[0] for row in trace[-3000:]] == [row[0] for row in in_double[-3000:]]
    for kind, far in (("melt", max), ("cool", min), ("work", max)):
        assert far(_of(trace, kind, 1)) == pytest.approx(far(_of(in_double, kind, 1)), abs=0.05)


READING = st.one_of(st.integers(-300000, 200000), st.integers(27000, 49000))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            READING, READING, READING, st.sampled_from([MELT, COOL, REWARM, WORK]),
            st.integers(0, 1000), st.sampled_from([0, 250, 1000, 2000, 60000, 10**7]),
        ),
        max_size=60,
    )
)  # fmt: skip
def test_garbage_never_demands_more_than_there_is(rows):
    """Any readings, jumps and gaps: heat and fan within 0..1000, whole numbers, never both."""
    regulator = Regulator(CONFIG)
    for product_mc, plate_mc, room_mc, step, delivered, passed_ms in rows:
        readings = SimpleNamespace(product_mc=product_mc, plate_mc=plate_mc, room_mc=room_mc)
        regulator.demand(readings, step.target_mc, step, delivered, passed_ms)
        demands = (regulator.heat_permille, regulator.fan_permille)
        assert all(type(one) is int and 0 <= one <= 1000 for one in demands)
        assert 0 in demands


def test_after_garbage_the_bowl_is_found_again():
    """Thirty readings from nowhere, then the truth: within a minute the estimate is there."""
    regulator = Regulator(CONFIG)
    for at in range(200):
        value_mc = 30000 if at < 100 else (90000 if at < 130 else 30000)
        readings = SimpleNamespace(product_mc=value_mc, plate_mc=MISSING_MC, room_mc=MISSING_MC)
        regulator.demand(readings, 28000, COOL, 0, 1000)
    assert regulator.estimator.bowl_c == pytest.approx(30.0, abs=0.5)


def test_an_exception_leaves_no_demand(monkeypatch):
    """Whatever raises inside: 0 and 0."""
    regulator = Regulator(CONFIG)
    readings = SimpleNamespace(product_mc=30000, plate_mc=MISSING_MC, room_mc=MISSING_MC)
    regulator.demand(readings, 48000, MELT, 0, 1000)
    assert regulator.heat_permille > 0
    for part in ("predict", "correct"):
        monkeypatch.setattr(regulator.estimator, part, lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            regulator.demand(readings, 48000, MELT, 0, 1000)
        assert (regulator.heat_permille, regulator.fan_permille) == (0, 0)


def test_what_was_learned_goes_on_and_nonsense_does_not():
    """Plain numbers; the next regulator begins with them, and refuses another form."""
    first = Regulator(CONFIG)
    assert first.learned() is None
    _batch(first, 2500)
    learned = first.learned()
    assert len(learned) == FIGURES
    second = Regulator(CONFIG, learned)
    assert second.learned() == learned
    assert Regulator(CONFIG, learned[:-1]).learned() is None
    _batch(second, 3)
    assert second.estimator.x[GAIN] == pytest.approx(learned[0], abs=0.02)
    assert second.estimator.p[GAIN][GAIN] < 0.5 * model.SIGMA[0] ** 2


def test_a_heater_that_seems_weaker_in_the_rewarm_gives_the_wall_no_more():
    """Crystals that melt draw heat, and the estimate takes it for a weaker heater. Believed a
    fifth weaker, it would be asked for a quarter more: in watts, as much more on the plate."""
    regulator = Regulator(CONFIG)
    readings = SimpleNamespace(product_mc=30000, plate_mc=MISSING_MC, room_mc=MISSING_MC)
    regulator.demand(readings, 31500, REWARM, 0, 1000)
    of, heats = regulator.estimator, []
    for weaker in (0.0, 0.2):
        of.x[GAIN] -= weaker
        of.rates.set(of.x)
        regulator.landing.decide(31.5, REWARM, 30.0, None, False, 1.0)
        heats.append(regulator.landing.heat)
    assert 0.0 < heats[1] <= 1.1 * heats[0] < 1.0


def test_telling_what_was_learned_changes_nothing():
    """A batch that goes on does not know that it was asked."""
    asked, other = Regulator(CONFIG), Regulator(CONFIG)
    for one in (asked, other):
        _batch(one, 1200)
    asked.learned()
    assert asked.estimator.x == other.estimator.x
    assert asked.estimator.p == other.estimator.p


def test_mass_is_of_its_batch():
    """What pouring taught is not carried to the next batch."""
    regulator = Regulator(CONFIG)
    _batch(regulator, 1200)
    regulator.estimator.x[MASS] = 0.7
    _batch(regulator, 1)
    assert regulator.estimator.x[MASS] == 0.0
    assert regulator.estimator.p[MASS][MASS] == 0.0


def test_a_batch_makes_no_new_rows():
    """What stays is made once: the same rows and parts serve every batch."""
    regulator = Regulator(CONFIG)
    of = regulator.estimator
    before = [id(row) for row in of.p] + [id(of), id(of.x), id(of.flows), id(regulator.landing)]
    _batch(regulator, 400)
    _batch(regulator, 400)
    of = regulator.estimator
    after = [id(row) for row in of.p] + [id(of), id(of.x), id(of.flows), id(regulator.landing)]
    assert before == after
