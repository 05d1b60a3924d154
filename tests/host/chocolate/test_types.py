"""Dark, milk and white against the figures of the trade and of the literature."""

import pytest

from snapgloss.base.errors import InputError
from snapgloss.chocolate import types
from snapgloss.chocolate.types import DARK, FORM_V_MELTING_MC, MILK, TYPES, WHITE, type_of

ALL = pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)

# Wille & Lutton (1966), J. Am. Oil Chem. Soc. 43:491, second-hand: form V 33.8, form VI 36.3 degC.
FORM_V_C = 33.8
FORM_VI_C = 36.3


def test_form_v_melting_point():
    """The figure used for every limit is the published one."""
    assert FORM_V_MELTING_MC == 33_800


@ALL
def test_cool_is_below_work_is_below_form_v(kind):
    """The low point makes crystals, work keeps form V alive (Wille & Lutton 1966)."""
    assert kind.cool.default_mc < kind.work.default_mc < FORM_V_C * 1000
    assert kind.cool.high_mc < kind.work.high_mc


@ALL
def test_cap_is_below_form_v_and_melt_is_above_form_vi(kind):
    """No work target melts form V; every melt is above form VI (Wille & Lutton 1966)."""
    assert kind.cap_mc < FORM_V_C * 1000
    assert kind.melt.low_mc > FORM_VI_C * 1000


@ALL
def test_bands_are_in_order_and_inside_the_hard_limit(kind):
    """Each default lies in its own range and no melt range passes the hard limit."""
    for band in (kind.melt, kind.cool, kind.work):
        assert band.low_mc <= band.default_mc <= band.high_mc
    assert kind.melt.high_mc <= kind.hard_mc < kind.plate_mc


@ALL
def test_seed_goes_in_above_work_and_below_the_wall_limit(kind):
    """Seed survives where it is put in, and the bowl is then cooled to work."""
    assert kind.work.default_mc < kind.seed_low_mc <= kind.seed_at_mc <= kind.seed_high_mc
    assert kind.seed_high_mc <= kind.wall_mc


# Common practice, no source: the working window of each type in degC.
@pytest.mark.parametrize(
    ("kind", "low_c", "high_c"), [(DARK, 31, 32), (MILK, 29, 31), (WHITE, 27.5, 30)]
)
def test_working_window(kind, low_c, high_c):
    """The window of each type is the usual one, and its cap is not below it."""
    assert kind.window == (low_c * 1000, high_c * 1000)
    assert kind.window[1] <= kind.cap_mc


# Published culinary tables, melt / cool / work in degC: dark 50-55 / 28-29 / 31-32, milk
# 45-50 / 27-28 / 30-31, white 45-50 / 26-27 / 29-30; a second one for dark 27-28 / 31-32; others
# work milk at 29-30 and white at 28-29. White's melt is cut at its hard limit of 48.
@pytest.mark.parametrize(
    ("band", "low_c", "high_c"),
    [
        (DARK.melt, 50, 55),
        (DARK.cool, 28, 29),
        (DARK.cool, 27, 28),
        (DARK.work, 31, 32),
        (MILK.melt, 45, 50),
        (MILK.cool, 27, 28),
        (MILK.work, 30, 31),
        (MILK.work, 29, 30),
        (WHITE.melt, 45, 48),
        (WHITE.cool, 26, 27),
        (WHITE.work, 29, 30),
        (WHITE.work, 28, 29),
    ],
)
def test_published_tables_lie_in_our_ranges(band, low_c, high_c):
    """No published culinary range is called unusual."""
    assert band.low_mc <= low_c * 1000 < high_c * 1000 <= band.high_mc


def test_milk_and_white_are_not_heated_above_50():
    """Published: milk and white not above 50 degC, milk protein and sugar turn grainy."""
    assert MILK.hard_mc <= 50_000
    assert WHITE.hard_mc <= 50_000


def test_milk_fat_lowers_every_limit():
    """More milk fat never raises a limit: dark, milk, white in falling order."""
    for name in ("cap_mc", "wall_mc", "hard_mc", "seed_at_mc", "work_low_mc"):
        dark, milk, white = (getattr(kind, name) for kind in (DARK, MILK, WHITE))
        assert dark > milk > white, name


def test_unknown_type_is_refused():
    """A type nobody knows is an InputError naming it and the three."""
    assert type_of("milk") is MILK
    with pytest.raises(InputError, match=r'"ruby".*dark, milk or white'):
        type_of("ruby")


# By hand: 0.08 K for each 1 % above the usual share; dark 0 %, milk 16 %, white 20 %.
@pytest.mark.parametrize(
    ("kind", "share", "down_mc"),
    [(DARK, 0.10, 800), (MILK, 0.18, 160), (WHITE, 0.25, 400), (DARK, 0.0, 0), (MILK, 0.10, 0)],
)
def test_milk_fat_lowers_what_protects_crystals(kind, share, down_mc):
    """More milk fat than usual lowers caps, walls and targets alike; less raises none of them."""
    given = kind.with_milk_fat(share)
    for name in types.LOWERED:
        assert getattr(given, name) == getattr(kind, name) - down_mc
    for name in ("cool", "work"):
        assert getattr(given, name) == tuple(mc - down_mc for mc in getattr(kind, name))
    for name in ("melt", "hard_mc", "plate_mc", "fat_share", "melt_out_s"):
        assert getattr(given, name) == getattr(kind, name)
    assert given.milk_fat_share == share


def test_caps_with_milk_fat_in_figures():
    """A dark with a tenth of milk fat in its fat is worked at 31.7 at most, by hand 32.5 - 0.8."""
    assert DARK.with_milk_fat(0.10).cap_mc == 31_700
    assert WHITE.with_milk_fat(0.30).cap_mc == 29_200


@pytest.mark.parametrize("share", [-0.01, 0.41, float("nan"), float("inf")])
def test_milk_fat_that_cannot_be(share):
    """A share outside 0 to 40 % is refused in a sentence."""
    with pytest.raises(InputError, match="of milk fat in the fat is not dark chocolate"):
        DARK.with_milk_fat(share)
