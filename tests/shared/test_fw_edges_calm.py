"""The edges of what a pause looks at: readings that stand still, and readings too warm."""

from rigfw import limits
from rigfw.calm import Calm

AT_MC = 31500


def _calm(at_mc=AT_MC):
    calm = Calm()
    calm.begin(at_mc)
    return calm


def _steady_ms(moved_mc):
    calm = _calm()
    calm.step(AT_MC, AT_MC + 9000, 250)
    calm.step(AT_MC + moved_mc, AT_MC + 9000, 250)
    return calm.steady_ms


def test_a_reading_stands_still_within_a_quarter_of_a_kelvin_of_where_it_stood():
    """0.25 K up or down: still. 1 mC more: it begins anew with this pass."""
    for moved_mc, expected_ms in ((250, 500), (-250, 500), (251, 250), (-251, 250)):
        assert _steady_ms(moved_mc) == expected_ms, moved_mc


def test_it_stands_still_from_where_it_came_to():
    """Two moves of 0.2 K in a row are 0.4 K from the first place; a third there is still."""
    calm = _calm()
    for at_mc, expected_ms in ((200, 250), (400, 250), (400, 500), (600, 750)):
        calm.step(AT_MC + at_mc, AT_MC + 9000, 250)
        assert calm.steady_ms == expected_ms, at_mc


def test_a_reading_is_warm_above_what_is_believed_and_not_at_it():
    """Counted in a row, and from none once it is back."""
    calm = _calm()
    for over_mc, expected_ms in ((0, 0), (1, 250), (5, 500), (0, 0), (1, 250)):
        calm.step(AT_MC + over_mc, AT_MC, 250)
        assert calm.warm_ms == expected_ms, over_mc


def test_a_pause_begins_without_what_was_before():
    """Neither still nor warm, and it stands where it begins."""
    calm = _calm()
    calm.step(AT_MC, AT_MC - 1, 250)
    assert (calm.steady_ms, calm.warm_ms) == (250, 250)
    calm.begin(AT_MC + 1000)
    assert (calm.steady_ms, calm.warm_ms) == (0, 0)
    calm.step(AT_MC + 1250, AT_MC + 9000, 250)
    assert calm.steady_ms == 250
    calm.step(AT_MC + 1250, AT_MC + 9000, 250)
    assert calm.steady_ms == 500


def test_two_minutes_are_longer_than_scraping():
    """hazards.toml: stopped when it is more than 4 K for two minutes."""
    assert limits.WARM_MS == 120000
