"""Hands in the bowl are no fault: scraping, lifting, cold handfuls. A fault still stops."""

from fw_fakes import Rig, kinds
from rigwire.schedule import Schedule, Step
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOP_KEYS

STOP = EVENT_NAMES.index("stop")
REACHED = EVENT_NAMES.index("reached")


def _only(step, mass_g=2000):
    return Schedule("Lantern 72", "cooled", "liquid", mass_g, 55000, [step])


def _at(product_mc, step, mass_g=2000, **changes):
    """A batch whose one step begins with this reading."""
    rig = Rig(schedule=_only(step, mass_g), **changes)
    rig.board.product_mc = rig.board.plate_mc = product_mc
    rig.start()
    rig.run(5)
    return rig


def _stops(rig):
    return [(STOP_KEYS[row[2]], row[3]) for row in rig.events() if row[1] == STOP]


def _move(rig, to_mc, step_mc):
    """The reading goes there by so much a second."""
    while rig.board.product_mc != to_mc:
        missing_mc = to_mc - rig.board.product_mc
        rig.board.product_mc += max(-step_mc, min(step_mc, missing_mc))
        rig.run(1)


def test_a_reading_that_comes_back_as_fast_as_it_fell_is_no_jump():
    """From 31.5 down to 29 and back by 0.9 K/s, as a scraper does it: working on, no stop."""
    rig = _at(31500, Step("work", 31500, 7200, 1000, 36000))
    for _ in range(3):
        _move(rig, 29000, 900)
        _move(rig, 31500, 900)
    rig.run(5)
    assert (rig.state(), _stops(rig)) == ("working", [])


def test_a_rise_above_where_it_was_still_stops():
    """The same dip, then 3 K above the warmest of the last minutes: probe_jump at read two."""
    rig = _at(31500, Step("work", 31500, 7200, 1000, 36000))
    _move(rig, 30000, 900)
    rig.board.product_mc = 34500
    rig.run(3)
    assert _stops(rig) == [("probe_jump", 34500)]


def test_a_reading_that_is_odd_but_there_is_not_a_missing_one():
    """Falls of 0.7 K/s for 4 s: no probe_missing, though none was believed at first."""
    rig = _at(45000, Step("melt", 48000, 7200, 3000, 60000))
    _move(rig, 42500, 700)
    rig.run(3)
    assert (rig.state(), _stops(rig)) == ("melting", [])


def test_a_dip_by_hands_does_not_lower_the_ceiling_that_stops():
    """Cooling at 33, 40 s at 28 with the bowl off, back at 33: no heat, no stop, no reached."""
    rig = _at(33000, Step("cool", 28000, 600, 2000, 60000))
    rig.board.bowl_present = 0
    rig.run(1)
    _move(rig, 28000, 1000)
    rig.run(35)
    rig.board.bowl_present = 1
    rig.run(1)
    _move(rig, 33000, 1000)
    rig.run(60)
    assert (rig.state(), _stops(rig)) == ("cooling", [])
    assert [row for row in rig.events() if row[1] == REACHED] == []


def test_no_heat_and_no_target_for_20_s_after_hands():
    """Back on the plate and 3 K under its target: heat begins when the probe may be trusted."""
    rig = _at(31500, Step("rewarm", 34500, 7200, 1000, 60000))
    rig.board.bowl_present = 0
    rig.run(2)
    rig.board.bowl_present = 1
    heated = []
    for _ in range(25):
        rig.run(1)
        heated.append(rig.app.drive.heat_on_ms + rig.board.heat_on > 0)
    assert rig.state() == "rewarming"
    assert not any(heated[:19]) and any(heated[19:])


def test_a_jump_that_began_in_hands_stops_when_they_are_out():
    """9 K more after the bowl was off than ever before: probe_jump in the next pass."""
    rig = _at(31500, Step("work", 31500, 7200, 1000, 36000))
    rig.board.bowl_present = 0
    rig.run(2)
    rig.board.product_mc = 40500
    rig.run(5)
    assert rig.state() == "hands_in"
    rig.board.bowl_present = 1
    rig.run(1)
    assert _stops(rig) == [("probe_jump", 40500)]


def test_a_shorted_bus_that_reads_exactly_zero_is_out_of_range():
    """0.0 twice: probe_range, not a fall that hands would explain."""
    rig = _at(31500, Step("work", 31500, 7200, 1000, 36000))
    rig.board.product_mc = 0
    rig.run(3)
    assert _stops(rig) == [("probe_range", 0)]


def test_cold_pieces_may_take_the_heat_they_need():
    """2 kg at 40 fall by 2 K as cold pieces go in: one pause, then 300 s without a rise."""
    rig = _at(40000, Step("melt", 48000, 7200, 3000, 60000), has_plate=0)
    _move(rig, 38000, 400)
    rig.run(300)
    assert (rig.state(), _stops(rig)) == ("melting", [])
    assert kinds(rig).count("hands") <= 1


def test_melting_out_starts_the_count_of_heat_again():
    """At 35.5 for 300 s, then 36.0: the heat so far melted fat, so it need not have shown."""
    rig = _at(35500, Step("melt", 48000, 7200, 3000, 60000), has_plate=0)
    rig.run(300)
    rig.board.product_mc = 36000
    rig.run(60)
    assert (rig.state(), _stops(rig)) == ("melting", [])


def test_pauses_that_a_dead_heater_makes_do_not_hide_it():
    """0.5 kg from 45 falls 0.5 K a minute though heat is on: a pause, a press, then no_rise."""
    step = Step("melt", 48000, 7200, 3000, 60000)
    rig = _at(45000, step, 500, has_plate=0, loss_mw_per_k=0)
    for _ in range(1800):
        rig.board.product_mc -= 8
        rig.run(1)
        if rig.state() == "hands_in":
            rig.press(0.5)
        if rig.state() == "stopped":
            break
    assert kinds(rig).count("hands") >= 1
    assert [row[0] for row in _stops(rig)] == ["no_rise"]


def test_between_two_odd_reads_there_is_no_heat_in_any_pass():
    """Melting at full heat, a jump of 9 K or a read of 85: off from that pass to the stop."""
    for odd_mc in (49000, 85000):
        rig = _at(40000, Step("melt", 48000, 7200, 3000, 60000))
        rig.run_until(lambda one: one.board.heat_on, 10)
        while rig.clock.now % 1000:
            rig.one_pass()
        rig.board.product_mc = odd_mc
        rig.run_until(lambda one, to_mc=odd_mc: one.app.readings.product_mc == to_mc, 2)
        while rig.state() == "melting":
            assert rig.board.heat_on == 0
            rig.one_pass()
        assert rig.state() == "stopped"
