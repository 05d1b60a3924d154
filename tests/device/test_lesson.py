"""The fit over a melt and cooling as a whole, against numpy and against a rig that is known."""

from math import sqrt

import numpy as np
import pytest

from fw_fakes import BENCH
from rigfw import lesson as module
from rigfw import model
from rigfw.config import RigConfig
from rigfw.flows import MIXED, SECOND, STATES, Flows
from rigfw.lesson import KNOWN, MOST_ROWS, UNKNOWN, Lesson
from rigfw.model import Model

CONFIG = RigConfig(**BENCH)
MASS_G = 2000


def _lesson():
    rates = Model(CONFIG, MASS_G)
    return Lesson(rates, [0.0] * model.COUNT, rates.prior())


def _seconds(logs):
    """A melt from 38 to 48, five minutes of it, and a cooling to 34.5: heat, fan, true reading."""
    rates = Model(CONFIG, MASS_G)
    rates.set(logs)
    flows, x = Flows(rates), [0.0] * STATES
    x[:SECOND] = [38.5, 0.4, 37.7]
    x[SECOND] = 37.5
    held_s = 0
    while held_s < 300 or x[SECOND] > 34.5:
        is_cooling = held_s >= 300
        heat = 0.0 if is_cooling or x[MIXED] > 48.2 else 1.0
        held_s += x[MIXED] > 47.8
        flows.move(x, heat, 1.0 if is_cooling else 0.0, 1.0, False)
        yield heat, 1.0 if is_cooling else 0.0, x[SECOND]


def _taught(logs, noise_c=0.03):
    made, random = _lesson(), np.random.default_rng(3)
    for heat, fan, reading_c in _seconds(logs):
        made.note(round((reading_c + random.normal(0.0, noise_c)) * 16) / 16, heat, fan, 1.0)
    made.end()
    while not made.is_done:
        made.study(1)
    return made


TRUTHS = (
    {model.PLATE: 0.4, model.PROBE: -0.5, model.SHARE: -0.2},
    {model.GAIN: -0.1, model.FAN: 0.3, model.PROBE: 0.8, model.SECOND: 0.1},
    {model.PLATE: -0.4, model.LOSS: 0.3, model.ROOM: 3.0, model.ELEMENT: 0.5},
)


@pytest.mark.parametrize("truth", TRUTHS)
def test_a_rig_is_found_within_its_own_doubt(truth):
    """Each parameter within three sigmas, and the gap to the plate known better than told."""
    logs = [truth.get(at, 0.0) for at in range(model.COUNT)]
    found, spread = _taught(logs).tell()
    prior = Model(CONFIG, MASS_G).prior()
    for at in KNOWN:
        assert abs(found[at] - logs[at]) < 3.0 * sqrt(spread[at][at])
        assert spread[at][at] <= prior[at][at] * 1.0001
    gap = _gap_variance(spread)
    assert gap < 0.4 * _gap_variance(prior)


def _gap_variance(spread):
    plate, share = model.PLATE, model.SHARE
    return spread[plate][plate] + spread[share][share] - 2.0 * spread[plate][share]


def test_steps_of_two_seconds_agree_with_those_of_one():
    """The fit walks in steps of 2 s, the filter in steps of 1 s: the same delay within 0.3 s."""
    ends = []
    for step_s in (1, 2):
        flows, x, seen = Flows(Model(CONFIG, MASS_G)), [0.0] * STATES, []
        x[MIXED] = x[SECOND - 1] = x[SECOND] = 40.0
        for at in range(0, 400, step_s):
            flows.move(x, float(at < 120), float(200 <= at < 300), float(step_s), False)
            if (at + step_s) % 2 == 0:
                seen.append(x[SECOND])
        ends.append(np.array(seen))
    rate = np.gradient(ends[0], 2.0)
    delay_s = -((ends[1] - ends[0]) * rate).sum() / (rate**2).sum()
    assert abs(delay_s) < 0.3


def test_the_triangle_is_least_squares():
    """Random rows through the rotations give numpy's solution, in single precision too."""
    random = np.random.default_rng(1)
    rows = random.normal(size=(200, UNKNOWN + 1)) * np.r_[np.logspace(0, 3, UNKNOWN), 1.0]
    expected = np.linalg.lstsq(rows[:, :-1], rows[:, -1], rcond=None)[0]
    for kind, near in ((float, 1e-9), (np.float32, 2e-4)):
        made = _lesson()
        made._triangle = [[kind(0.0)] * (UNKNOWN + 1 - at) for at in range(UNKNOWN)]
        made._odd = kind(0.0)
        for row in rows:
            made._turn_in([kind(one) for one in row])
        solved = np.zeros(UNKNOWN)
        for at in reversed(range(UNKNOWN)):
            line = made._triangle[at]
            total = line[-1] - sum(line[o - at] * solved[o] for o in range(at + 1, UNKNOWN))
            solved[at] = total / line[0]
        assert solved == pytest.approx(expected, rel=near, abs=near * max(abs(expected)))


def test_what_is_not_this_rig_teaches_nothing():
    """Readings that follow nothing: no parameters."""
    made, random = _lesson(), np.random.default_rng(2)
    for heat, fan, reading_c in _seconds([0.0] * model.COUNT):
        made.note(reading_c + random.normal(0.0, 1.0), heat, fan, 1.0)
    made.end()
    while not made.is_done:
        made.study(1)
    assert made.tell() is None


def test_a_long_batch_needs_no_more_memory():
    """Five hours noted: the rows are full, nothing raises, the work is bounded."""
    made = _lesson()
    for at in range(5 * 3600):
        made.note(40.0 + 0.001 * (at % 7), 0.3, 0.0, 1.0)
    assert made.rows == MOST_ROWS
    made.end()
    steps = 0
    while not made.is_done:
        made.study(1)
        steps += 1
    assert steps <= module.PASSES * MOST_ROWS


def test_too_short_is_no_lesson():
    """A minute: done at once, nothing told."""
    made = _lesson()
    for _ in range(60):
        made.note(40.0, 1.0, 0.0, 1.0)
    made.end()
    assert made.is_done and made.tell() is None
