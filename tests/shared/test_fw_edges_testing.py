"""Tests of outputs: the lease, the time and each power one unit to either side."""

from rigfw import testing as tests_of_outputs


def _asked(most_s=60):
    testing = tests_of_outputs.Testing()
    testing.ask(400, 500, 600, 55000, most_s)
    return testing


def test_before_it_is_asked_nothing_is_allowed():
    """Not even a permille; none is allowed, because off is always right."""
    testing = tests_of_outputs.Testing()
    assert testing.is_asked == 0
    assert testing.allows(0, 0, 0)
    for powers in ((1, 0, 0), (0, 1, 0), (0, 0, 1)):
        assert not testing.allows(*powers)


def test_each_power_is_allowed_to_its_most_and_not_a_permille_more():
    """Each by itself, and all of them at once."""
    testing = _asked()
    assert (testing.is_asked, testing.plate_mc) == (1, 55000)
    assert testing.allows(400, 500, 600)
    for powers in ((401, 0, 0), (0, 501, 0), (0, 0, 601)):
        assert not testing.allows(*powers)


def test_a_press_drives_nothing_before_the_first_lease():
    """Whatever a test before it left: all powers 0, and it is not asked any more."""
    testing = _asked()
    testing.begin()
    testing.lease(400, 500, 600)
    assert (testing.heat_permille, testing.fan_permille, testing.stir_permille) == (400, 500, 600)
    testing.ask(400, 500, 600, 55000, 60)
    testing.begin()
    assert (testing.heat_permille, testing.fan_permille, testing.stir_permille) == (0, 0, 0)
    assert testing.is_asked == 0


def test_a_lease_lasts_5000_ms_from_the_press_and_from_each_one():
    """A ms less goes on."""
    testing = _asked()
    testing.begin()
    assert not testing.tick(4999)
    testing.lease(1, 2, 3)
    assert not testing.tick(4999)
    assert testing.tick(1)


def test_the_test_ends_with_its_time_to_the_ms():
    """However often it is leased."""
    testing = _asked(7)
    testing.begin()
    assert not testing.tick(4000)
    testing.lease(1, 2, 3)
    assert not testing.tick(2999)
    testing.lease(1, 2, 3)
    assert testing.tick(1)


def test_a_lease_of_less_is_what_is_driven_then():
    """Each power as the last lease has it."""
    testing = _asked()
    testing.begin()
    testing.lease(400, 500, 600)
    testing.lease(10, 20, 30)
    assert (testing.heat_permille, testing.fan_permille, testing.stir_permille) == (10, 20, 30)


def test_a_window_that_a_host_keeps_is_let_go_after_5000_ms_of_silence():
    """A ms less waits; without a host that keeps it, it is never let go by that."""
    testing = _asked()
    testing.keep_window()
    assert not testing.is_let_go(4999)
    testing.keep_window()
    assert not testing.is_let_go(4999)
    assert testing.is_let_go(1)


def test_what_a_host_said_is_forgotten_when_it_was_silent_or_somebody_pressed():
    """Told once, in that pass alone; nobody who never said it, nor a press, lets anything go."""
    testing = _asked()
    assert not testing.is_let_go(60000)
    testing.keep_window()
    assert testing.is_let_go(5000)
    assert not testing.is_let_go(1)
    testing.keep_window()
    testing.begin()
    assert not testing.is_let_go(60000)
