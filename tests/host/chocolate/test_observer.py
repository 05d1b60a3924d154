"""The crystals of a bowl from its log: what is known, what is booked, and what it says."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.chocolate.crystals import Crystals
from snapgloss.chocolate.observer import (
    FORGET_S,
    LONGEST_HOLE_S,
    Addition,
    Observer,
    observe,
)

HOT_S = 400


def bowl(work_c, span_s, wall_over_k=0.0, additions=(), **changes):
    """A log: 48 degC for HOT_S, then work_c, stirred, one reading a second."""
    seconds = np.arange(HOT_S + span_s, dtype=float)
    product = np.where(seconds < HOT_S, 48.0, work_c)
    given_ = {"wall_c": product + wall_over_k, "shear": np.ones(len(seconds)), **changes}
    return observe(seconds, product, given_["wall_c"], given_["shear"], additions)


def test_nothing_is_known_before_it_was_forgotten():
    """Five minutes over 40 degC, then there is nothing in the bowl; before that nan."""
    found = bowl(31.5, 60)
    known = np.flatnonzero(np.isfinite(found.v))
    assert found.seconds[known[0]] == pytest.approx(FORGET_S, abs=2)
    assert found.v[known[0]] == found.n[known[0]] == 0.0
    assert observe([0, 1], [31.5, 31.5], [math.nan] * 2, [1, 1]).seed_lost_s is None


def test_seed_stays_what_it_was_at_the_working_point_and_grows():
    """2 % in: seeds keep their number, stable crystals grow as the crystals do by themselves."""
    found = bowl(31.5, 1800, additions=[Addition(HOT_S + 10.0, 0.05, 0.4)])
    alone = Crystals(0.02)
    for _ in range(1788):
        alone.step(1.0, 31.5, 1.0)
    assert found.n[-1] == pytest.approx(0.02, rel=1e-9)
    assert found.v[-1] == pytest.approx(alone.v, rel=0.01)
    assert found.seed_lost_s is None


def test_steps_of_two_seconds_agree_with_finer_ones():
    """The same log at 4 Hz is taken in finer steps: within 1 %."""
    seeds = [Addition(HOT_S + 10.0, 0.05, 0.4)]
    coarse = bowl(28.0, 1200, additions=seeds)
    fine = Observer()
    for at in range((HOT_S + 1200) * 4 - 4):
        if at == (HOT_S + 10) * 4:
            fine.add(0.05, 0.4)
        fine.step(0.25, 48.0 if at < HOT_S * 4 else 28.0, None, 1.0)
    assert fine.figures() == pytest.approx(
        (coarse.v[-1], coarse.u[-1], coarse.n[-1]), rel=0.01, abs=1e-5
    )


def test_a_hot_wall_kills_the_seed_that_the_bulk_would_keep():
    """Bulk at 31.5: a wall of 36 degC takes the seed within the hour, one of 33 does not."""
    seeds = [Addition(HOT_S + 10.0, 0.05, 0.4)]
    lost = bowl(31.5, 3600, 4.5, seeds)
    kept = bowl(31.5, 3600, 1.5, seeds)
    assert lost.seed_lost_s is not None
    assert kept.seed_lost_s is None
    assert lost.v[-1] < 0.2 * kept.v[-1]


def test_over_34_5_the_seed_is_lost_in_minutes():
    """34.5 degC for some minutes: temper lost (reference figure: over 2-3 min, calculated)."""
    found = bowl(34.8, 600, additions=[Addition(HOT_S + 10.0, 0.05, 0.4)])
    assert found.seed_lost_s == pytest.approx(HOT_S + 10 + 190, abs=60)


def test_it_says_when_it_thickens():
    """From 2 % at 31.0 degC: after 20 to 90 min, as practice has it (30-60 min, no source)."""
    found = bowl(31.0, 7200, additions=[Addition(HOT_S + 10.0, 0.05, 0.4)])
    assert found.thick_s is not None
    assert 1200 < found.thick_s - HOT_S < 5400


def test_missing_readings_hold_for_a_while_and_then_nothing_is_known():
    """A hole of 100 s changes little; one over 120 s, in rows or in values, ends what is known."""
    seconds = np.arange(900.0)
    product = np.where(seconds < HOT_S, 48.0, 31.5)
    short, long = product.copy(), product.copy()
    short[500:600] = math.nan
    long[500:700] = math.nan
    blind = np.full(900, math.nan)
    seeds = [Addition(HOT_S + 10.0, 0.05, 0.4)]
    whole, holed, ended = (
        observe(seconds, one, blind, np.ones(900), seeds) for one in (product, short, long)
    )
    assert holed.v[-1] == pytest.approx(whole.v[-1], rel=1e-6)
    assert math.isfinite(ended.v[500 + int(LONGEST_HOLE_S) - 5]) and math.isnan(ended.v[-1])
    rows = np.concatenate([seconds[:500], seconds[700:]])
    cut = observe(rows, np.where(rows < HOT_S, 48.0, 31.5), np.full(700, math.nan), np.ones(700))
    assert math.isfinite(cut.v[499]) and math.isnan(cut.v[-1])


@given(
    start=st.floats(0.0, 0.44),
    steps=st.lists(
        st.tuples(
            st.floats(0.01, 2.0), st.floats(-5.0, 70.0), st.floats(-5.0, 70.0),
            st.floats(0.0, 1.0), st.floats(0.0, 0.5), st.floats(0.0, 0.8),
        ),
        max_size=40,
    ),
)  # fmt: skip
def test_shares_stay_shares_and_heat_closes(start, steps):
    """Never negative, never over 1 together; heat set free is the change of what is bound, to
    0.1 % of what was moved, additions counted with what they bring."""
    watch = Observer(start=start)
    brought, moved = watch.bound_j_per_kg(), 1.0
    for dt_s, product_c, wall_c, shear, share, stable in steps:
        before = watch.freed_j_per_kg
        watch.step(dt_s, product_c, wall_c, shear)
        moved += abs(watch.freed_j_per_kg - before)
        bound = watch.bound_j_per_kg()
        watch.add(share * 0.1, stable)
        brought += watch.bound_j_per_kg() - bound
        v, u, n = watch.figures()
        assert min(v, u, n) >= 0.0 and v + u <= 1.0 + 1e-12
    off = watch.bound_j_per_kg() - brought - watch.freed_j_per_kg
    assert abs(off) <= 1e-3 * moved


@pytest.mark.parametrize(
    ("seconds", "product", "start"),
    [([0, 1], [31.0], None), ([1, 0], [31, 31], None), ([0, math.nan], [31, 31], None),
     ([0, 1], [31, 31], -0.1), ([0, 1], [31, 31], math.nan)],
)  # fmt: skip
def test_a_log_that_cannot_be_is_refused(seconds, product, start):
    """Lengths that differ, times that do not rise, a share that is none: a sentence."""
    with pytest.raises(InputError):
        observe(
            seconds, product, [math.nan] * len(seconds), [0] * len(seconds),
            observer=Observer(start=start),
        )  # fmt: skip


def test_an_empty_log_gives_empty_columns():
    """No rows in, none out."""
    found = observe([], [], [], [])
    assert len(found.v) == len(found.seconds) == 0
    assert (found.seed_lost_s, found.thick_s) == (None, None)
