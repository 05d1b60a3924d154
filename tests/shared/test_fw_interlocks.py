"""Each check takes power away in time: the code, the value and the deadline."""

from fw_fakes import MISSING, Plant, Rig, kinds, seeded_dark, unwitnessed
from rigwire.schedule import Schedule, Step
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOP_KEYS

STOP = EVENT_NAMES.index("stop")
WITHHELD = EVENT_NAMES.index("withheld")


def _only(step, mass_g=2000):
    return Schedule("Lantern 72", "cooled", "liquid", mass_g, 55000, [step])


def _melting(**changes):
    """A bowl at 40 degrees that is being heated to 48, plate 7 K hotter."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000)), **changes)
    rig.board.product_mc, rig.board.plate_mc = 40000, 47000
    rig.start()
    rig.run(10)
    assert rig.app.regulator.heat_permille > 500
    assert rig.state() == "melting"
    return rig


def _holding(kind="work", target_mc=31500):
    """A bowl at its target."""
    rig = Rig(schedule=_only(Step(kind, target_mc, 7200, 1000, 36000)))
    rig.board.product_mc = rig.board.plate_mc = target_mc
    rig.start()
    rig.run(5)
    return rig


def _stops(rig):
    return [(STOP_KEYS[row[2]], row[3]) for row in rig.events() if row[1] == STOP]


def _withheld(rig):
    return [(STOP_KEYS[row[2]], row[3]) for row in rig.events() if row[1] == WITHHELD]


def _seconds_to_stop(rig, most_s):
    """From now until `stopped`; heater, enable, stirrer and fan are off then."""
    passed_s = rig.run_until(lambda one: one.state() == "stopped", most_s)
    board = rig.board
    assert (board.heat_on, board.enable_edge, board.fan_permille, board.stir_permille) == (
        0,
        0,
        0,
        0,
    )
    return passed_s


def _at_a_whole_second(rig):
    while rig.clock.now % 1000:
        rig.one_pass()


def test_a_silent_probe_ends_heat_after_2_s_and_stops_at_4_s():
    """Conversions end: heat off within 2.25 s of the last, stopped 4 s after it."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.is_converting = False
    rig.run(2)
    assert _withheld(rig) == []
    rig.one_pass()
    assert rig.board.heat_on == 0
    assert _withheld(rig) == [("probe_missing", 2250)]
    assert _seconds_to_stop(rig, 3) == 1.75
    assert _stops(rig) == [("probe_missing", 4000)]


def test_a_missing_reading_ends_heat_in_the_same_pass():
    """The probe answers `missing`: no heat in that pass, stopped 4 s after the last good one."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.product_mc = MISSING
    rig.run(1)
    assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    assert _withheld(rig) == [("probe_missing", 1000)]
    ring = rig.app.journal.readings
    assert (ring.row(ring.newest())[7], ring.row(ring.newest())[10] & 9) == (0, 9)
    assert _seconds_to_stop(rig, 4) == 3.0
    assert _stops(rig) == [("probe_missing", 4000)]


def test_a_reading_that_comes_back_gives_heat_back():
    """One missing reading does not cost the batch; its end is noted after 5 s of calm."""
    rig = _melting()
    rig.board.product_mc = MISSING
    rig.run(1.5)
    rig.board.product_mc = 40000
    rig.run(4)
    assert rig.state() == "melting"
    assert rig.app.withheld.code == 0 and rig.app.regulator.heat_permille > 500
    assert kinds(rig)[-1] == "withheld"
    rig.run(3)
    assert kinds(rig)[-1] == "given_back"


def test_a_reason_that_comes_and_goes_is_noted_once():
    """A reading lost every third second for two minutes: heat follows, one event, no more."""
    rig = _melting()
    before = kinds(rig).count("withheld")
    for _ in range(40):
        rig.board.product_mc = MISSING
        rig.run(1)
        assert rig.board.heat_on == 0
        rig.board.product_mc = 40000
        rig.run(2)
        assert rig.app.withheld.code == 0
    assert kinds(rig).count("withheld") - before == 1


def test_a_missing_plate_reading_is_treated_alike():
    """A rig described with a plate probe stops 4 s after its last reading."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.plate_mc = MISSING
    rig.run(1)
    assert rig.board.heat_on == 0
    assert _seconds_to_stop(rig, 4) == 3.0
    assert _stops(rig) == [("plate_missing", 4000)]


def test_two_reads_out_of_range_stop():
    """0.1 degrees below and 1 mC above the range: heat off at the first, stopped at the second."""
    for value in (-100, 65001):
        rig = _melting()
        _at_a_whole_second(rig)
        rig.board.product_mc = value
        rig.run(1)
        assert rig.board.heat_on == 0
        assert _withheld(rig) == [("probe_range", value)]
        assert _seconds_to_stop(rig, 2) == 1.0
        assert _stops(rig) == [("probe_range", value)]


def test_one_read_out_of_range_does_not_stop():
    """A single odd value keeps heat off for its second, then the batch goes on."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.product_mc = 65001
    rig.run(1)
    rig.board.product_mc = 40000
    rig.run(5)
    assert rig.state() == "melting"


def test_two_odd_reads_apart_do_not_stop():
    """Out of range, good, out of range, good: four seconds, no stop."""
    rig = _melting()
    _at_a_whole_second(rig)
    for value in (65001, 40000, 65001, 40000):
        rig.board.product_mc = value
        rig.run(1)
    assert rig.state() == "melting"


def test_a_reading_that_jumps_up_stops_at_its_second_read():
    """5 K up between two reads and staying there: heat off at the first, stopped at the second."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.product_mc = 45000
    rig.run(1)
    assert rig.board.heat_on == 0
    assert _withheld(rig) == [("probe_jump", 45000)]
    assert _seconds_to_stop(rig, 2) == 1.0
    assert _stops(rig) == [("probe_jump", 45000)]


def test_a_jump_that_a_warm_ladle_can_make_is_a_pause():
    """3 K up and staying: no heat from the first read, hands at the second, back by itself."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.product_mc = 43000
    rig.run(1)
    assert rig.board.heat_on == 0
    rig.run(1)
    assert rig.state() == "hands_in"
    rig.run(21)
    assert (rig.state(), _stops(rig)) == ("melting", [])


def test_a_climb_faster_than_chocolate_can_never_heats_and_stops_after_2_minutes():
    """0.75 K/s: no heat from the first read on, hands at 2.25 K; 4.5 K up it may be scraping."""
    rig = _melting()
    _at_a_whole_second(rig)
    for second in range(1, 7):
        rig.board.product_mc = 40000 + 750 * second
        rig.run(1)
        assert rig.board.heat_on == 0
        assert rig.state() == ("melting" if second < 3 else "hands_in")
    for _ in range(4 * 119):
        rig.one_pass()
        assert (rig.board.heat_on, rig.state()) == (0, "hands_in")
    assert _seconds_to_stop(rig, 3) <= 2.0
    assert _stops(rig) == [("probe_jump", 44500)]


def test_a_scraper_that_sweeps_the_probe_along_the_hot_wall_is_a_pause():
    """7 K up at 0.75 K/s for a minute, and back: no heat meanwhile, and the batch goes on."""
    rig = _melting()
    for to_mc in (47000, 40000):
        while rig.board.product_mc != to_mc:
            left_mc = to_mc - rig.board.product_mc
            rig.board.product_mc += max(-750, min(750, left_mc))
            rig.run(1)
        rig.run(60 if to_mc == 47000 else 15)
        assert (rig.board.heat_on, rig.state()) == (0, "hands_in")
    rig.run(6)
    assert (rig.state(), _stops(rig)) == ("melting", [])


def test_a_fast_climb_that_chocolate_can_do_is_believed():
    """0.4 K/s for 5 s withholds nothing."""
    rig = _melting()
    _at_a_whole_second(rig)
    for second in range(1, 6):
        rig.board.product_mc = 40000 + 400 * second
        rig.board.plate_mc = 47000 + 400 * second
        rig.run(1)
    assert _withheld(rig) == []


def test_a_fall_nobody_declared_is_taken_for_hands_and_never_stops():
    """The reading falls by 6 K: hands_in, heat and stirrer off, and back after it recovered."""
    rig = _holding()
    rig.board.product_mc = 25500
    rig.run(2)
    assert rig.state() == "hands_in"
    assert (rig.board.heat_on, rig.board.stir_permille) == (0, 0)
    assert [row[2] for row in rig.events() if EVENT_NAMES[row[1]] == "hands"] == [3]
    rig.run(120)
    assert rig.state() == "hands_in"
    rig.board.product_mc = 31000
    rig.run(19)
    assert rig.state() == "hands_in"
    rig.run(4)
    assert rig.state() == "working"
    assert _stops(rig) == []


def test_a_fall_while_cooling_is_a_pause_too():
    """6 K within a second while the fan runs: hands_in at the second read."""
    rig = Rig(schedule=_only(Step("cool", 28000, 60, 2000, 60000)))
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    _at_a_whole_second(rig)
    rig.board.product_mc = 42000
    rig.run(1)
    assert rig.state() == "cooling"
    rig.run(1)
    assert rig.state() == "hands_in"


def test_a_slow_fall_of_more_than_3_k_while_holding_is_a_pause():
    """0.4 K/s is no jump; at 3.2 K under the highest of the step it is taken for hands."""
    rig = _holding()
    _at_a_whole_second(rig)
    for second in range(1, 9):
        rig.board.product_mc = 31500 - 400 * second
        rig.run(1)
        assert rig.state() == ("hands_in" if second == 8 else "working"), second


def test_a_probe_lifted_into_cool_air_ends_heat_within_4_s():
    """With a time constant of 8 s, from 40 towards 21 degrees, while melting: a pause."""
    rig = _melting()
    value = 40.0
    seconds = 0
    while rig.state() == "melting":
        value += (21.0 - value) / 8
        rig.board.product_mc = int(value * 1000)
        rig.run(1)
        seconds += 1
    assert seconds <= 4
    assert (rig.state(), rig.board.heat_on) == ("hands_in", 0)


def test_four_kelvin_over_the_step_stops_at_once():
    """Work at 31.5: 35.5 is withheld, 35.563 stops in that pass."""
    rig = _holding()
    for value in (32000, 32500, 33000, 33500, 34000, 34500, 35000, 35500):
        rig.board.product_mc = value
        rig.run(1)
    assert rig.state() == "working"
    _at_a_whole_second(rig)
    rig.board.product_mc = 35563
    assert _seconds_to_stop(rig, 2) == 1.0
    assert _stops(rig) == [("chocolate_hot", 35563)]


def test_two_kelvin_over_the_step_stops_after_30_s():
    """33.5 may stay; 33.563 has heat off at once and is stopped 30 s later."""
    rig = unwitnessed(_holding())
    rig.board.plate_mc = 36000  # hotter than the chocolate: this is no ladle
    for second in range(1, 81):
        rig.board.product_mc = 31500 + 25 * second
        rig.run(1)
    rig.run(60)
    assert rig.state() == "working"
    _at_a_whole_second(rig)
    rig.board.product_mc = 33563
    rig.run(1)
    assert _withheld(rig) == [("chocolate_hot", 33563)]
    assert 29.0 <= _seconds_to_stop(rig, 40) <= 30.0
    assert _stops(rig) == [("chocolate_hot", 33563)]


def test_time_over_by_2_k_is_not_added_up():
    """Over by 2.1 K for 20 s, under for 5 s, over again for 20 s: no stop."""
    rig = _holding()
    for value in (32000, 32500, 33000, 33400):
        rig.board.product_mc = value
        rig.run(1)
    for value, seconds in ((33600, 20), (33400, 5), (33600, 20)):
        rig.board.product_mc = value
        rig.run(seconds)
    assert rig.state() == "working"


def test_no_heat_above_the_rigs_own_ceiling():
    """Rig and schedule may have 50, melt to 50: at 50.063 heat is withheld, nothing stops."""
    schedule = _only(Step("melt", 50000, 3600, 3000, 60000))
    schedule.ceiling_mc = 50000
    rig = Rig(schedule=schedule, ceiling_mc=50000)
    rig.board.product_mc, rig.board.plate_mc = 49500, 52000
    rig.start()
    rig.board.product_mc = 50000
    rig.run(2)
    assert _withheld(rig) == []
    rig.board.product_mc = 50063
    rig.run(2)
    assert _withheld(rig) == [("chocolate_hot", 50063)]
    assert rig.board.heat_on == 0


def test_the_ceiling_of_a_cooling_step_falls_with_the_chocolate():
    """Cooling from 48: at 36 for 3 minutes, 38.4 has no heat and 40.063 stops."""
    rig = Rig(schedule=_only(Step("cool", 28000, 60, 2000, 60000)))
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    value = 48000
    while value > 36000:
        value -= 400
        rig.board.product_mc = rig.board.plate_mc = value
        rig.run(1)
    rig.run(200)  # hands dip a reading for less than 3 minutes
    assert rig.state() == "cooling"
    while value < 40000:
        value += 400
        rig.board.product_mc = rig.board.plate_mc = value
        rig.run(1)
    assert rig.state() == "cooling"
    assert [row[0] for row in _withheld(rig)] == ["chocolate_hot"]
    rig.board.product_mc = 40063
    rig.run(1)
    assert _stops(rig) == [("chocolate_hot", 40063)]


def test_a_declared_addition_widens_by_2_k_for_180_s_and_caps_heat_at_30_percent():
    """Declared: 35.0 in work stays for 150 s; 180 s later the same is stopped after 30 s."""
    rig = unwitnessed(_holding())
    assert rig.ask("declare", 2, 300).name == "ok"
    rig.board.plate_mc = 38000  # hotter than the chocolate: no ladle beyond what was declared
    for second in range(1, 101):
        rig.board.product_mc = 31500 + 35 * second
        rig.run(1)
    rig.run(54)
    assert rig.state() == "working"
    assert rig.app.interlocks.heat_limit_permille == 300
    assert 45 <= _seconds_to_stop(rig, 80) <= 60
    assert _stops(rig) == [("chocolate_hot", 35000)]


def test_a_declared_addition_lets_the_chocolate_fall():
    """A fall of 5 K within 8 s after `declare` is no pause."""
    rig = _holding()
    assert rig.ask("declare", 1, 300).name == "ok"
    for second in range(1, 9):
        rig.board.product_mc = 31500 - 625 * second
        rig.run(1)
        assert rig.state() == "working"


def test_heat_is_at_most_30_percent_in_a_declared_addition():
    """A cold bowl that asks for full heat gets 300 permille until 180 s are over."""
    rig = _melting()
    assert rig.ask("declare", 2, 100).name == "ok"
    rig.run(2)
    ring = rig.app.journal.readings
    assert ring.row(ring.newest())[7] == 300
    rig.run(180)
    assert ring.row(ring.newest())[7] > 500


def test_the_plate_stops_at_its_ceiling_on_the_second_read():
    """70.063 on a plate that may have 70: heat off at the first read, stopped at the second."""
    rig = _melting()
    _at_a_whole_second(rig)
    rig.board.plate_mc = 70063
    rig.run(1)
    assert rig.board.heat_on == 0
    assert _seconds_to_stop(rig, 2) == 1.0
    assert _stops(rig) == [("plate_hot", 70063)]


def test_a_wall_over_the_steps_limit_has_no_heat_until_half_a_kelvin_below():
    """Limit 60: 60.063 withholds, 59.6 still, 59.5 gives back. Nothing stops."""
    rig = _melting()
    for value, held in ((60000, 0), (60063, 5), (59600, 5), (59500, 0)):
        rig.board.plate_mc = value
        rig.run(2)
        assert rig.app.withheld.code == held, value
    assert _stops(rig) == []


def test_no_rise_of_the_plate_stops_within_120_s():
    """A dead element from the first second: the plate stays as warm as the chocolate."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000)))
    rig.board.product_mc = rig.board.plate_mc = 40000
    rig.start()
    assert 60 <= _seconds_to_stop(rig, 120) <= 120
    assert _stops(rig) == [("no_rise", 40000)]


def test_a_plate_that_loses_all_its_heat_to_the_room_is_no_fault():
    """Holding 48 with 40 W of loss, all from the plate: hardly hotter than the bowl, no stop."""
    plant = Plant(start_c=47.5, loss_w_per_k=1.5)
    plant.plate_part = 1.0
    step = Step("rest", 48000, 7200, 3000, 60000)
    rig = Rig(schedule=_only(step), plant=plant, loss_mw_per_k=1500)
    rig.start()
    rig.run(1800)
    ring = rig.app.journal.readings
    heat = [ring.row(seq)[7] for seq in range(ring.newest() - 300, ring.newest())]
    assert sum(heat) > 350 * len(heat)
    assert plant.plate_c - plant.product_c < 0.4
    assert (rig.state(), _stops(rig)) == ("resting", [])


def test_a_plate_that_gets_warmer_is_no_fault():
    """A sound rig from a cold bowl of 6 kg: no stop in the first 20 minutes, with or without."""
    for has_plate in (1, 0):
        rig = Rig(schedule=seeded_dark(6000), plant=Plant(6000), has_plate=has_plate)
        rig.start()
        rig.run(1200)
        assert (rig.state(), _stops(rig)) == ("melting", [])


def test_no_rise_without_a_plate_probe_stops_after_the_heat_that_must_show():
    """2 kg at 40 degrees that stay there: 6.75 kJ for 1.5 K, 3.33 kJ in the plate, the loss."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000)), has_plate=0)
    rig.board.product_mc = 40000
    rig.start()
    assert 130 <= _seconds_to_stop(rig, 200) <= 200
    assert _stops(rig) == [("no_rise", 40000)]


def test_a_bowl_at_its_target_need_not_rise():
    """0.5 kg at 47.5 of 48, no plate probe, twice the described loss: no stop in an hour."""
    plant = Plant(500, start_c=47.5, loss_w_per_k=2.0)
    rig = Rig(
        schedule=_only(Step("rest", 48000, 7200, 3000, 60000), 500), plant=plant, has_plate=0
    )
    rig.start()
    rig.run(3500)
    assert rig.app.regulator.heat_permille > 420
    assert (rig.state(), _stops(rig)) == ("resting", [])


def test_a_reading_that_stays_while_the_plate_is_hot_is_in_doubt():
    """Probe in air or stuck at 40, plate 7 K hotter, 2 kg: no heat after 130 s at most."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000)))
    rig.board.product_mc, rig.board.plate_mc = 40000, 47000
    rig.start()
    rig.run_until(lambda one: one.state() == "hands_in", 130)
    for _ in range(400):
        rig.one_pass()
        assert (rig.state(), rig.board.heat_on) == ("hands_in", 0)


def test_melting_fat_may_stand_still_for_its_greatest_latent_heat():
    """1 kg at 33 degrees that does not move: 63 kJ and 3.8 kJ must go in first, over 668 s."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000), 1000), has_plate=0)
    rig.board.product_mc = 33000
    rig.start()
    rig.run(660)
    assert rig.state() == "melting"
    assert _seconds_to_stop(rig, 600) < 400


def test_the_stop_loop_stops_in_the_next_pass():
    """Open loop: all off in one pass of 250 ms, in every state that can have power."""
    for rig in (_melting(), _holding()):
        offs = rig.board.offs
        rig.board.stop_open = 1
        rig.one_pass()
        assert rig.board.offs == offs + 1
        assert rig.board.buzzer == 1
        assert rig.state() == "stopped"
        assert (rig.board.heat_on, rig.board.enable_edge, rig.board.stir_permille) == (0, 0, 0)
        assert _stops(rig) == [("stop_loop", 1)]


def test_nobody_there_ends_heat_and_not_the_stirring():
    """Limit 600 s: chime at 300 s, heat withheld at 600 s, stirring on; a press gives it back."""
    schedule = _only(Step("work", 31500, 7200, 1000, 36000))
    rig = Rig(schedule=schedule, plant=Plant(2000, 31.0), attended_limit_s=600)
    rig.start()
    chimed_s = rig.run_until(lambda one: one.board.buzzer and one.passes > 200, 400)
    assert chimed_s is not None
    left_s = 600 - rig.app.interlocks.alone_ms // 1000
    assert 299 <= left_s <= 300
    while rig.app.interlocks.alone_ms < 599500:
        rig.one_pass()
    assert _withheld(rig) == []
    rig.run(1)
    assert _withheld(rig) == [("unattended", 600)]
    ring = rig.app.journal.readings
    assert (rig.app.regulator.heat_permille > 0, ring.row(ring.newest())[7]) == (True, 0)
    assert (rig.board.heat_on, rig.board.enable_edge, rig.board.stir_permille) == (0, 0, 1000)
    rig.plant = None
    for value in range(31000, 26000, -100):
        rig.board.product_mc = rig.board.plate_mc = value
        rig.run(1)
    assert (rig.state(), rig.board.stir_permille) == ("working", 1000)
    rig.press(0.5)
    rig.run(2)
    assert rig.app.withheld.code == 0


def test_a_pedal_is_somebody():
    """A pedal pressed once renews the time; the pedal held for ever does not."""
    rig = Rig(schedule=_only(Step("work", 31500, 7200, 1000, 36000)), attended_limit_s=600)
    rig.board.product_mc = rig.board.plate_mc = 31500
    rig.start()
    rig.run(500)
    rig.board.pedal_down = 1
    rig.run(1)
    assert rig.app.interlocks.alone_ms <= 1000
    rig.run(700)
    assert rig.app.withheld.code == 8


def test_an_exception_anywhere_ends_in_all_off_and_program_fault():
    """Each phase raises once: all off in that pass, stopped with program_fault, told once."""
    for phase in ("judge", "step", "write", "report"):
        rig = _melting()
        offs = rig.board.offs

        def broken():
            raise ValueError("broken on purpose")

        setattr(rig.app, phase, broken)
        rig.one_pass()
        assert rig.state() == "stopped", phase
        assert rig.board.offs > offs
        assert (rig.board.heat_on, rig.board.enable_edge, rig.board.stir_permille) == (0, 0, 0)
        assert _stops(rig) == [("program_fault", 0)]
        assert len(rig.faults) == 1


def test_a_regulator_that_raises_demands_nothing_and_the_batch_lives():
    """Its exception is told; heat goes to 0 and stays there; the step clock runs on."""
    rig = _melting()

    def broken(*_):
        raise ZeroDivisionError("broken on purpose")

    rig.app.regulator.demand = broken
    rig.run(3)
    assert rig.state() == "melting"
    assert rig.board.heat_on == 0
    assert len(rig.faults) >= 2


def test_a_regulator_that_always_demands_everything_is_stopped():
    """Full demand for ever on a sound plant: chocolate never passes its step by 4 K."""
    plant = Plant(1000, start_c=31.0)
    rig = Rig(schedule=_only(Step("work", 31500, 7200, 1000, 70000), 1000), plant=plant)
    rig.start()

    def full(*_):
        rig.app.regulator.heat_permille = 1000

    rig.app.regulator.demand = full
    rig.run_until(lambda one: one.state() == "stopped", 3600)
    assert _stops(rig)[0][0] == "chocolate_hot"
    assert plant.product_c < 35.5 + 0.5
    highest_c = plant.product_c
    for _ in range(2400):
        rig.one_pass()
        highest_c = max(highest_c, plant.product_c)
    assert highest_c < 37.0


def test_no_reset_ever_heats():
    """A fresh App over a hot bowl: off, and an hour later still without one heated pass."""
    rig = Rig()
    rig.board.product_mc, rig.board.plate_mc = 40000, 40000
    rig.load()
    for _ in range(14400):
        rig.one_pass()
        assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    assert rig.state() == "off"


def test_the_edge_train_runs_only_while_heat_may_be_on():
    """In a step the edge changes in every pass; withheld, in pause and off it stands at 0."""
    rig = _melting()
    seen = []
    for _ in range(8):
        rig.one_pass()
        seen.append(rig.board.enable_edge)
    assert seen in ([0, 1] * 4, [1, 0] * 4)
    rig.board.pedal_down = 1
    rig.one_pass()
    assert rig.state() == "hands_in"
    for _ in range(8):
        rig.one_pass()
        assert rig.board.enable_edge == 0


def test_a_stop_is_cleared_only_when_its_cause_is_gone():
    """Each cause still there: a press changes nothing. Gone: the next press ends in off."""
    for field, bad, good in (
        ("product_mc", MISSING, 40000),
        ("product_mc", -5000, 40000),
        ("plate_mc", MISSING, 40000),
        ("plate_mc", 75000, 40000),
    ):
        rig = _melting()
        setattr(rig.board, field, bad)
        rig.run_until(lambda one: one.state() == "stopped", 6)
        rig.press(0.5)
        assert rig.state() == "stopped", field
        setattr(rig.board, field, good)
        rig.run(2)
        assert rig.state() == "stopped"
        rig.press(0.5)
        assert rig.state() == "off"
        assert kinds(rig)[-2:] == ["cleared", "state"]
