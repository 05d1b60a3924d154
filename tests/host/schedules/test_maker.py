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


@ALL
@pytest.mark.parametrize("method", ["seeded", "cooled"])
def test_a_bowl_fed_hot_is_cooled_to_the_rest(kind, method):
    """A hot start cools first, rests melted, then goes on as the method does; ceiling 60."""
    schedule, solid = (make(kind, BENCH_RIG, 2000, method, start) for start in ("hot", "solid"))
    assert [s.kind for s in schedule.steps[:2]] == ["cool", "rest"]
    assert schedule.steps[0].target_mc == schedule.steps[1].target_mc == kind.melt.default_mc
    assert schedule.steps[1:] == solid.steps[1:]
    assert schedule.ceiling_mc == 60_000


def test_milk_fat_moves_the_targets():
    """By hand, dark with 10 % of milk fat: 28 - 0.8, 31.5 - 0.8, and 33.5 - 0.8 for the seed."""
    cooled = make(DARK, BENCH_RIG, 2000, "cooled", "solid", "Quay 60", 100)
    assert [s.target_mc for s in cooled.steps[3:]] == [27_200, 30_700, 30_700]
    seeded = make(DARK, BENCH_RIG, 2000, "seeded", "solid", "Quay 60", 100)
    assert seeded.steps[3].target_mc == 32_700
    assert (seeded.window.low_mc, seeded.window.high_mc) == (30_200, 31_200)
    assert (seeded.milk_fat_permille, cooled.milk_fat_permille) == (100, 100)


@pytest.mark.parametrize("name", ["", " ", "a\nb", "x" * 61, "\udcff", "tab\there"])
def test_names_that_fit_no_line_are_refused(name):
    """A name of no or too many characters, or not printable, is a sentence, not a traceback."""
    if name == "":
        assert make(DARK, BENCH_RIG, 2000, chocolate_name=name).chocolate == "Dark chocolate"
        return
    with pytest.raises(InputError, match="The chocolate's name"):
        make(DARK, BENCH_RIG, 2000, chocolate_name=name)


def test_a_long_name_is_kept_for_people():
    """60 characters are kept whole as the chocolate, shortened in the schedule's own name."""
    made = make(DARK, BENCH_RIG, 2000, chocolate_name="x" * 60)
    assert made.chocolate == "x" * 60
    assert made.name == "x" * 40 + " seeded 2 kg"


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
