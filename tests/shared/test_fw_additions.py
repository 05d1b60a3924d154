"""Seed, ladles and top-ups, announced or not: cooking never stops a batch."""

from fw_fakes import Plant, Rig, kinds, seeded_dark
from rigfw import limits
from rigwire.schedule import Schedule, Step
from rigwire.tables import EVENT_NAMES, FLAG_ADDITION_DECLARED
from rigwire.views import STOP_KEYS

STOP = EVENT_NAMES.index("stop")
ANSWERED = EVENT_NAMES.index("answered")


def _waiting_for_seed(lag_s, mass_g=2000):
    """At 33.5 degC, the seed prompt showing."""
    plant = Plant(mass_g=mass_g, start_c=34.0, lag_s=lag_s)
    schedule = seeded_dark(mass_g)
    schedule.steps = schedule.steps[2:]
    rig = Rig(schedule=schedule, plant=plant)
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.prompt_no == 2, 1800)
    return rig, plant


def _in_work(mass_g=2000, lag_s=8.0, has_plate=1):
    """At 31.5 degC, five minutes into work."""
    plant = Plant(mass_g=mass_g, start_c=31.5, lag_s=lag_s)
    step = Step("work", 31500, 7200, 1000, 34000)
    schedule = Schedule("Lantern 72", "kept", "in_temper", mass_g, 55000, [step])
    rig = Rig(schedule=schedule, plant=plant, has_plate=has_plate)
    rig.start()
    rig.run(300)
    return rig, plant


def _stops(rig):
    return [STOP_KEYS[row[2]] for row in rig.events() if row[1] == STOP]


def _states(rig, seconds):
    """The names of all states of so many seconds."""
    seen = set()
    for _ in range(4 * seconds):
        rig.one_pass()
        seen.add(rig.state())
    return seen


def _is_flagged(rig):
    ring = rig.app.journal.readings
    return bool(ring.row(ring.newest())[10] & FLAG_ADDITION_DECLARED)


def _nobody(rig, _grams):
    """The seed falls in without a word."""


def _press(rig, _grams):
    rig.press(0.5)


def _host_answers(rig, _grams):
    assert rig.ask("answer", 2).name == "ok"


def _host_declares(rig, grams):
    assert rig.ask("declare", 1, grams).name == "ok"


def test_a_quarter_of_cold_seed_is_seed_whoever_says_so():
    """25 % at 12 degC, a fast probe and a slow one: no pause, no stop, work at 31.5."""
    for says in (_nobody, _press, _host_answers, _host_declares):
        for lag_s in (2.0, 8.0, 32.0):
            rig, plant = _waiting_for_seed(lag_s)
            says(rig, 500)
            plant.add(500, 12.0)
            seen = _states(rig, 420)
            case = (says.__name__, lag_s, seen)
            assert seen <= {"seeding", "cooling", "working"}, case
            assert "hands" not in kinds(rig) and _stops(rig) == [], case
            assert 31200 <= rig.board.product_mc <= 31800, case


def test_seed_that_is_in_widens_the_checks_and_holds_heat_to_30_percent():
    """By press: from the next second for 180 s the reading says so, and the limit is 300."""
    rig, _plant = _waiting_for_seed(8.0)
    rig.press(0.5)
    rig.run(1)
    assert _is_flagged(rig)
    assert rig.app.interlocks.heat_limit_permille == limits.ADDITION_HEAT_PERMILLE
    rig.run(177)
    assert _is_flagged(rig)
    rig.run(3)
    assert not _is_flagged(rig)
    assert rig.app.interlocks.heat_limit_permille == 1000


def test_seed_that_nobody_answered_for_is_no_addition():
    """After the wait the batch goes on without seed: nothing was added, no flag."""
    rig, _plant = _waiting_for_seed(8.0)
    rig.run_until(lambda one: one.app.sequencer.prompt_no == 0, 700)
    rig.run(2)
    assert [row[3] for row in rig.events() if row[1] == ANSWERED] == [4]
    assert not _is_flagged(rig)


def test_seed_before_the_bowl_is_at_its_temperature_is_noticed():
    """The reading passes the target by 2 K in a second: seed, and heat aims at 31.5."""
    step = Step("seed", 33500, 120, 1000, 34500, 2, 600, 120)
    work = Step("work", 31500, 600, 1000, 34000)
    rig = Rig(schedule=Schedule("Lantern 72", "seeded", "liquid", 2000, 55000, [step, work]))
    rig.board.product_mc = rig.board.plate_mc = 34000
    rig.start()
    rig.run(30)
    rig.board.product_mc = 32000
    rig.run(2)
    assert "dip" in kinds(rig) and rig.app.sequencer.target_mc == 31500
    assert "hands" not in kinds(rig)


def test_fast_cooling_towards_the_seeding_temperature_is_no_seed():
    """A seed step that begins 6 K over its target and cools by 3 K/min: no dip on the way."""
    step = Step("seed", 33500, 120, 20000, 34500, 2, 600, 120)
    rig = Rig(schedule=Schedule("Lantern 72", "seeded", "liquid", 2000, 55000, [step]))
    rig.board.product_mc = rig.board.plate_mc = 39500
    rig.start()
    while rig.board.product_mc > 34000:
        rig.board.product_mc -= 50
        rig.run(1)
    assert "dip" not in kinds(rig) and not rig.app.sequencer.seeded


def test_a_fall_of_the_seed_that_comes_after_its_time_is_a_pause_again():
    """181 s after the press a fall of 4 K in a second is taken for hands."""
    rig, _plant = _waiting_for_seed(8.0)
    rig.app.sequencer.step.hold_s = 3600
    rig.app.sequencer._hold_ms = 3600000
    rig.press(0.5)
    rig.plant = None
    rig.run(181)
    rig.board.product_mc -= 4000
    rig.run(3)
    assert rig.state() == "hands_in"


def test_a_warm_ladle_that_nobody_declared_never_stops():
    """25 % at 48 degC into 0.5, 2 and 6 kg at 31.5: no heat over 33.5, no stop, back to work."""
    for mass_g in (500, 2000, 6000):
        for lag_s in (2.0, 8.0):
            rig, plant = _in_work(mass_g, lag_s)
            plant.add(mass_g / 4, 48.0)
            for _ in range(4 * 1200):
                rig.one_pass()
                if rig.board.product_mc > 33500 and rig.app.interlocks.product_mc > 33500:
                    assert rig.board.heat_on == 0
            case = (mass_g, lag_s, rig.state())
            assert rig.state() == "working" and _stops(rig) == [], case


def test_what_the_heater_can_drive_is_no_ladle():
    """2 kg that climbs by 0.03 K/s over a hot plate, as a shorted switch drives it: stopped."""
    rig, _plant = _in_work()
    rig.plant = None
    rig.board.plate_mc = 50000
    took_s = 0
    while rig.state() == "working" and took_s < 200:
        rig.board.product_mc += 31
        rig.run(1)
        took_s += 1
    assert _stops(rig) == ["heat_unasked"]
    assert 5 <= took_s <= 60  # the plate's jump to 50 degC alone is 9 kJ nobody gave


def test_a_slow_ladle_into_a_small_bowl_is_told_by_its_colder_plate():
    """0.5 kg that climbs 2.5 K in 40 s above its plate is fed; below its plate it is stopped."""
    for plate_mc, ends in ((29000, "working"), (45000, "stopped")):
        rig, _plant = _in_work(500)
        rig.plant = None
        rig.board.plate_mc = plate_mc
        for _ in range(40):
            rig.board.product_mc += 63
            rig.run(1)
        rig.run(40)
        assert rig.state() == ends, plate_mc


def test_after_ten_minutes_a_ladle_that_is_still_there_stops():
    """A jump by 3 K that stays over a hotter plate is a ladle for 600 s, then too hot."""
    rig, _plant = _in_work()
    rig.plant = None
    rig.board.product_mc += 3000
    rig.run_until(lambda one: one.state() == "hands_in", 3)
    rig.run_until(lambda one: one.state() == "working", 30)
    rig.board.plate_mc = rig.board.product_mc + 500
    took_s = rig.run_until(lambda one: one.state() == "stopped", 700)
    assert 629 <= took_s <= 632
    assert _stops(rig) == ["chocolate_hot"]
