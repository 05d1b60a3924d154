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
from rigfw.estimator import Estimator
from rigfw.flows import ALL, OF_GAIN, OF_MASS, SECOND, STATES
from rigfw.model import Model
from rigfw.regulator import Regulator
from rigwire.messages import MISSING_MC
from rigwire.schedule import Step

CONFIG = RigConfig(**BENCH)
MELT = Step("melt", 48000, 300, 20000, 60000)
COOL = Step("cool", 28000, 300, 20000, 60000)
REWARM = Step("rewarm", 31500, 0, 20000, 34000)
WORK = Step("work", 31500, 3600, 20000, 34000)


def _estimator(spread=None, logs=None):
    made = Estimator(
        Model(CONFIG, 2000),
        logs or [0.0] * model.COUNT,
        spread or [[0.0] * model.COUNT for _ in range(model.COUNT)],
    )
    made.start(40.0, 0.3)
    return made


def _drive(at):
    return (1.0 if at % 90 < 40 else 0.0), (1.0 if at % 90 > 60 else 0.0)


def test_the_linear_part_is_a_kalman_filter(monkeypatch):
    """States and covariance over 300 s of heat and fan as filterpy's KalmanFilter has them."""
    monkeypatch.setattr(module, "GAIN_MOST", 0.0)
    ours = _estimator()
    ours.p[OF_GAIN][OF_GAIN] = 1e-12
    other = KalmanFilter(dim_x=STATES, dim_z=1, dim_u=1)
    other.x, other.P = (
        np.array(ours.x[:STATES]),
        np.array([row[:STATES] for row in ours.p[:STATES]]),
    )
    other.H = np.eye(STATES)[[SECOND]]
    other.R, other.Q = np.array([[module.NOISE_C2]]), np.diag(module.STILL_Q)
    random = np.random.default_rng(5)
    for at in range(300):
        heat, fan = _drive(at)
        at_zero = _estimator()
        at_zero.x[:STATES] = [0.0] * STATES
        vars(at_zero.flows).update(fed_s=ours.flows.fed_s, _by_lag_s=0.0)
        at_zero.flows.move(at_zero.x, heat, fan, 1.0, False)
        matrix = np.eye(STATES)
        matrix[:4] = [row[:STATES] for row in at_zero.flows.slopes]
        other.predict(u=np.ones(1), F=matrix, B=np.array(at_zero.x[:STATES]).reshape(-1, 1))
        ours.predict(heat, fan, 1.0, False, False)
        reading_c = float(other.x[SECOND] + random.normal(0.0, 0.03))
        other.update(reading_c)
        ours.correct(reading_c, False, False)
    assert ours.x[:STATES] == pytest.approx(other.x, abs=1e-9)
    assert np.array([row[:STATES] for row in ours.p[:STATES]]) == pytest.approx(other.P, rel=1e-6)


@pytest.mark.parametrize("at", [at for at in range(model.COUNT) if at != model.MASS])
def test_what_a_parameter_does_is_what_the_covariance_says(at):
    """200 s with the parameter a little higher and lower: the states move by its covariance."""
    spread = [[0.0] * model.COUNT for _ in range(model.COUNT)]
    spread[at][at] = 1.0
    carried = _estimator(spread)
    step = 1e-4
    moved = []
    for side in (step, -step):
        logs = [0.0] * model.COUNT
        logs[at] = side
        moved.append(_estimator(logs=logs))
    for second in range(200):
        for one in (carried, *moved):
            one.predict(*_drive(second), 1.0, False, False)
    for state in range(4):
        slope = (moved[0].x[state] - moved[1].x[state]) / (2.0 * step)
        assert carried.p[state][STATES + at] == pytest.approx(slope, rel=2e-3, abs=2e-4)


def test_the_saw_of_a_relay_is_its_closed_form():
    """Loss l, gain g, shortest pulse t: p-p (g - l) t, period g t / l, within a second of each."""
    gain, loss, on_s = 0.04, 0.004, 10.0
    one = relay.Relay(on_s, 10.0)
    missing_c, seen, starts = 0.0, [], []
    for at in range(3000):
        was_on = one.is_on
        one.decide(missing_c, gain, loss, 99.0, 1.0)
        if one.is_on and not was_on:
            starts.append(at)
        missing_c -= (gain if one.is_on else 0.0) - loss
        seen.append(missing_c)
    swing_c = max(seen[600:]) - min(seen[600:])
    assert swing_c == pytest.approx((gain - loss) * on_s, abs=1.5 * gain)
    assert np.mean(np.diff(starts[2:])) == pytest.approx(gain * on_s / loss, abs=11.0)
    assert min(np.diff(starts)) >= relay.CYCLE_S


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
    double = _batch(Regulator(CONFIG), 6000)
    single = np.float32
    monkeypatch.setattr(model, "zeros", lambda count: [single(0.0)] * count)
    monkeypatch.setattr(model, "exp", lambda value: single(np.exp(single(value))))
    monkeypatch.setattr(landing, "sqrt", lambda value: single(np.sqrt(single(value))))
    regulator = Regulator(CONFIG)
    trace = _batch(regulator, 6000)
    states = regulator._estimator
    assert all(isinstance(value, single) for value in states.x[:SECOND])
    assert isinstance(states.p[0][0], single) and isinstance(states.rates.gain, single)
    assert [row[0] for row in trace[-3000:]] == [row[0] for row in double[-3000:]]
    for kind, far in (("melt", max), ("cool", min), ("work", max)):
        assert far(_of(trace, kind, 1)) == pytest.approx(far(_of(double, kind, 1)), abs=0.05)


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
    assert regulator._estimator.bowl_c == pytest.approx(30.0, abs=0.5)


def test_an_exception_leaves_no_demand(monkeypatch):
    """Whatever raises inside: 0 and 0."""
    regulator = Regulator(CONFIG)
    readings = SimpleNamespace(product_mc=30000, plate_mc=MISSING_MC, room_mc=MISSING_MC)
    regulator.demand(readings, 48000, MELT, 0, 1000)
    assert regulator.heat_permille > 0
    for part in ("_predict", "_correct"):
        monkeypatch.setattr(regulator, part, lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            regulator.demand(readings, 48000, MELT, 0, 1000)
        assert (regulator.heat_permille, regulator.fan_permille) == (0, 0)


def test_what_was_learned_goes_on_and_nonsense_does_not():
    """A list of plain numbers; the next regulator begins with it, and refuses another form."""
    first = Regulator(CONFIG)
    assert first.learned() is None
    _batch(first, 2500)
    learned = first.learned()
    assert len(learned) == 1 + model.COUNT + model.COUNT**2
    assert all(type(value) in (int, float) for value in learned)
    second = Regulator(CONFIG, learned)
    assert second.learned() == learned
    for bad in ([], [1, *learned[1:]], learned[:-1]):
        assert Regulator(CONFIG, bad).learned() is None


def test_mass_is_of_its_batch():
    """What pouring taught is not carried to the next batch."""
    regulator = Regulator(CONFIG)
    _batch(regulator, 1200)
    regulator._estimator.x[OF_MASS] = 0.7
    assert regulator.learned()[1 + model.MASS] == 0.0
    assert ALL == STATES + model.COUNT
