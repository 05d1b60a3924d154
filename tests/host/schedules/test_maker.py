"""The maker's schedules against common practice."""

import pytest

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import DARK, TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.maker import make

ALL = pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)


@ALL
def test_seeded_steps(kind):
    """Melt with a look for lumps, rest, cool, seed, cool, work: no low point."""
    schedule = make(kind, BENCH_RIG, 2000)
    assert [s.kind for s in schedule.steps] == ["melt", "rest", "cool", "seed", "cool", "work"]
    assert [s.prompt for s in schedule.steps if s.prompt != "none"] == [
        "lumps_gone",
        "seed_in",
        "dip_knife",
    ]
    assert schedule.steps[3].target_mc == kind.seed_at_mc
    assert min(s.target_mc for s in schedule.steps) == kind.work.default_mc


@ALL
def test_cooled_steps(kind):
    """Melt, rest, cool, cool slowly to the low point and dwell, rewarm, work."""
    schedule = make(kind, BENCH_RIG, 2000, "cooled")
    kinds = ["melt", "rest", "cool", "cool", "rewarm", "work"]
    assert [s.kind for s in schedule.steps] == kinds
    low, rewarm = schedule.steps[3], schedule.steps[4]
    assert low.target_mc == kind.cool.default_mc
    # Common practice, no source: the last 2-3 degC at most 0.5 degC/min, a dwell of 3-10 min
    # (a university teaching lab takes 5), a rewarm of at most 1 degC/min.
    assert low.rate_mc_per_min <= 500
    assert schedule.steps[2].target_mc - low.target_mc in range(2000, 3001)
    assert 180 <= low.hold_s <= 600
    assert rewarm.rate_mc_per_min <= 1000


@ALL
def test_kept_steps(kind):
    """Chocolate still in temper is only warmed, with the wall kept cool."""
    schedule = make(kind, BENCH_RIG, 2000, "kept", "in_temper")
    assert [s.kind for s in schedule.steps] == ["rewarm", "work"]
    assert all(s.wall_mc == kind.wall_mc for s in schedule.steps)


def test_liquid_is_not_looked_at_for_lumps():
    """A liquid start melts too, to erase old crystals, but asks nothing."""
    melt = make(DARK, BENCH_RIG, 2000, "seeded", "liquid").steps[0]
    assert (melt.kind, melt.prompt, melt.wait_s) == ("melt", "none", 0)


def test_melt_out_time():
    """Common practice, no source: 10-20 min well melted before cooling."""
    for kind in TYPES.values():
        assert 600 <= make(kind, BENCH_RIG, 2000).steps[1].hold_s <= 1200


def test_bowl_too_small():
    """More than the bowl holds is refused with what it holds."""
    with pytest.raises(InputError, match="at most 6 kg"):
        make(DARK, BENCH_RIG, 6001)


def test_rig_that_cannot_melt():
    """A ceiling below the melt is the rig's description's fault, and is said."""
    cold = BENCH_RIG.model_copy(update={"ceiling_c": 45.0})
    with pytest.raises(InputError, match="ceiling"):
        make(DARK, cold, 2000)
    low_plate = BENCH_RIG.model_copy(update={"plate_ceiling_c": 49.0})
    with pytest.raises(InputError, match="plate_ceiling"):
        make(DARK, low_plate, 2000)


def test_rig_ceilings_are_kept():
    """A rig with lower ceilings gets a schedule inside them."""
    rig = BENCH_RIG.model_copy(update={"ceiling_c": 52.0, "plate_ceiling_c": 57.0})
    schedule = make(DARK, rig, 2000)
    assert schedule.ceiling_mc == 52_000
    assert max(s.wall_mc for s in schedule.steps) == 57_000


def test_method_and_start_must_fit():
    """Chocolate in temper is not melted down by mistake."""
    with pytest.raises(InputError, match="in_temper"):
        make(DARK, BENCH_RIG, 2000, "seeded", "in_temper")
