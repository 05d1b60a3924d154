"""The interlocks pass by pass, at each edge: one mC, one millisecond, one reading."""

from fw_fakes import MISSING, FakeClock, NoWitness, bench
from rigfw.interlocks import (
    CHOCOLATE_HOT,
    PLATE_HOT,
    PLATE_MISSING,
    PROBE_JUMP,
    PROBE_MISSING,
    PROBE_RANGE,
    UNATTENDED,
    Interlocks,
)
from rigfw.numbers import BY_DOUBT, BY_READING
from rigfw.readings import Readings
from rigfw.seconds import NO_RISE

AT_MC = 31500
BEGAN_MS = 10000


class _Bowl:
    """Interlocks and what they are given; a batch of 2 kg that began with a good reading."""

    def __init__(self, product_mc=AT_MC, mass_g=2000, target_mc=AT_MC, has_plate=0, **changes):
        self.locks = Interlocks(bench(has_plate=has_plate, **changes), FakeClock())
        self.locks.seconds.witness = NoWitness()
        self.target_mc, self.wall_mc = target_mc, 60000
        self.readings = Readings()
        self.now_ms = BEGAN_MS
        self.in_pause = False
        self.begin(product_mc, mass_g)

    def begin(self, product_mc, mass_g=2000):
        """A batch begins with this reading."""
        self.readings.product_mc, self.readings.product_at_ms = product_mc, self.now_ms
        self.locks.begin(product_mc, self.now_ms, mass_g)

    def wait(self, passed_ms, passes=1):
        """So many passes without a new reading."""
        for _ in range(passes):
            self.now_ms += passed_ms
            self.locks.judge(
                self.readings, self.now_ms, passed_ms, self.target_mc, self.wall_mc, self.in_pause
            )
        return self.said()

    def read(self, product_mc, passed_ms=1000, plate_mc=None):
        """A pass with a new reading of the chocolate, and of the plate where one is given."""
        self.readings.product_mc = product_mc
        self.readings.product_at_ms = self.now_ms + passed_ms
        if plate_mc is not None:
            self.readings.plate_mc = plate_mc
            self.readings.plate_at_ms = self.now_ms + passed_ms
        return self.wait(passed_ms)

    def move(self, to_mc, step_mc=500):
        """One reading a second there, as fast as is believed."""
        while self.readings.product_mc != to_mc:
            missing_mc = to_mc - self.readings.product_mc
            self.read(self.readings.product_mc + max(-step_mc, min(step_mc, missing_mc)))
        return self.said()

    def said(self):
        """(stop, withheld, hands)"""
        return self.locks.stop_code, self.locks.withhold_code, self.locks.hands

    def second(self, permille=0, kind="work"):
        """The look once a second, in a room as warm as can be: nothing is lost."""
        self.locks.each_second(permille, 100000, self.target_mc, kind, 0)
        return self.said()


FINE = (0, 0, 0)


# Age.


def test_a_reading_is_too_old_after_2000_ms_and_stops_at_4000():
    """One ms earlier: not yet. Its age is told."""
    bowl = _Bowl()
    assert bowl.wait(2000) == FINE
    assert bowl.wait(1) == (0, PROBE_MISSING, 0)
    assert bowl.locks.withhold_value == 2001
    assert bowl.wait(1998) == (0, PROBE_MISSING, 0)
    assert bowl.wait(1) == (PROBE_MISSING, PROBE_MISSING, 0)
    assert bowl.locks.stop_value == 4000


def test_a_missing_reading_is_withheld_at_once_and_stops_at_4000_ms():
    """That it was tried again and again does not make it younger."""
    bowl = _Bowl()
    for passed_ms in (250, 1000, 1000, 1000):
        assert bowl.read(MISSING, passed_ms) == (0, PROBE_MISSING, 0)
    assert bowl.read(MISSING, 749) == (0, PROBE_MISSING, 0)
    assert bowl.read(MISSING, 1) == (PROBE_MISSING, PROBE_MISSING, 0)


def test_a_reading_that_comes_back_in_time_is_enough():
    """Missing for 3999 ms, then as before."""
    bowl = _Bowl()
    bowl.read(MISSING, 3999)
    assert bowl.read(AT_MC, 1) == FINE
    assert bowl.wait(2000) == FINE


def test_a_plate_is_as_old_as_its_last_good_reading():
    """2000 and 4000 ms, from the begin of the batch or the last reading; missing at once."""
    bowl = _Bowl(has_plate=1)
    bowl.readings.plate_mc = AT_MC
    bowl.readings.plate_at_ms = -1  # never read: the age counts from the begin
    assert bowl.read(AT_MC, 2000) == FINE
    assert bowl.read(AT_MC, 1) == (0, PLATE_MISSING, 0)
    assert bowl.locks.withhold_value == 2001
    assert bowl.read(AT_MC, 1000, plate_mc=AT_MC) == FINE
    assert bowl.read(AT_MC, 1000, plate_mc=MISSING) == (0, PLATE_MISSING, 0)
    assert bowl.read(AT_MC, 1000, plate_mc=MISSING) == (0, PLATE_MISSING, 0)
    assert bowl.read(AT_MC, 1999, plate_mc=MISSING) == (0, PLATE_MISSING, 0)
    assert bowl.read(AT_MC, 1, plate_mc=MISSING) == (PLATE_MISSING, PLATE_MISSING, 0)
    assert bowl.locks.stop_value == 4000


def test_a_rig_without_a_plate_probe_misses_none():
    """Nor is it known."""
    bowl = _Bowl()
    for _ in range(8):
        assert bowl.read(AT_MC) == FINE
    bowl.read(AT_MC, plate_mc=40000)
    assert bowl.locks.known_plate_mc() == MISSING
    bowl = _Bowl(has_plate=1)
    bowl.read(AT_MC, plate_mc=40000)
    assert bowl.locks.known_plate_mc() == 40000


def test_the_ages_of_a_batch_count_from_its_begin():
    """An hour after the one before: fine for 2000 ms, chocolate and plate."""
    bowl = _Bowl(has_plate=1)
    bowl.read(AT_MC, plate_mc=AT_MC)
    bowl.now_ms += 3600000
    bowl.begin(AT_MC)
    assert bowl.wait(2000) == FINE
    assert bowl.locks.known_plate_mc() == MISSING


# Range.


def test_two_readings_in_a_row_at_0_or_below_stop():
    """0.001 degC is a reading; the first 0.0 keeps heat off, the second stops."""
    for product_mc in (0, -1):
        bowl = _Bowl(400)
        assert bowl.read(1) == FINE
        assert bowl.read(product_mc) == (0, PROBE_RANGE, 0)
        assert bowl.locks.withhold_value == product_mc
        assert bowl.read(product_mc) == (PROBE_RANGE, PROBE_RANGE, 0)
        assert bowl.locks.stop_value == product_mc


def test_two_readings_in_a_row_above_65_stop():
    """65.0 is a reading; 65.001 is none."""
    bowl = _Bowl(64900, target_mc=64000, ceiling_mc=60000)
    assert bowl.read(65000) == (0, CHOCOLATE_HOT, 0)
    assert bowl.read(65001) == (0, PROBE_RANGE, 0)
    assert bowl.read(65001) == (PROBE_RANGE, PROBE_RANGE, 0)


def test_two_readings_out_of_range_apart_do_not_stop():
    """A good one between them."""
    bowl = _Bowl()
    for product_mc, expected in ((0, PROBE_RANGE), (AT_MC, 0), (0, PROBE_RANGE)):
        assert bowl.read(product_mc) == (0, expected, 0)


def test_a_reading_counts_once():
    """However many passes it stands: out of range, or a hot plate."""
    bowl = _Bowl(has_plate=1)
    assert bowl.read(0, plate_mc=70001)[0] == 0
    assert bowl.wait(250, 3)[:2] == (0, PROBE_RANGE)


def test_a_reading_out_of_range_is_no_reading():
    """Its first keeps the age of the last good one: stopped for it at 4000 ms."""
    bowl = _Bowl()
    bowl.read(0, 1000)
    assert bowl.wait(2999)[0] == 0
    assert bowl.wait(1)[0] == PROBE_MISSING
    assert bowl.locks.stop_value == 4000


# Jumps.


def test_half_a_kelvin_a_second_is_believed():
    """Up and down; a millikelvin more is odd and keeps heat off, and is not believed."""
    for sign in (1, -1):
        bowl = _Bowl()
        assert bowl.read(AT_MC + sign * 500) == FINE
        assert bowl.locks.product_mc == AT_MC + sign * 500
        bowl = _Bowl()
        assert bowl.read(AT_MC + sign * 501) == (0, PROBE_JUMP, 0)
        assert bowl.locks.withhold_value == AT_MC + sign * 501
        assert bowl.locks.product_mc == AT_MC
        assert bowl.wait(250) == (0, PROBE_JUMP, 0)


def test_what_may_move_grows_with_the_age_of_what_was_believed():
    """2 s: 1.0 K."""
    assert _Bowl().read(AT_MC - 1000, 2000)[1] == 0
    assert _Bowl().read(AT_MC - 1001, 2000)[1] == PROBE_JUMP
    bowl = _Bowl()
    bowl.read(AT_MC)
    assert bowl.read(AT_MC - 501)[1] == PROBE_JUMP


def test_an_addition_moves_twice_as_fast():
    """1.0 K a second, while a millisecond of it is left."""
    for passed_ms, most_mc in ((178999, 1000), (179000, 500)):
        for more_mc, expected in ((0, 0), (1, PROBE_JUMP)):
            bowl = _Bowl()
            bowl.locks.declare(0)
            bowl.read(AT_MC, passed_ms)
            assert bowl.read(AT_MC - most_mc - more_mc)[1] == expected


def test_two_odd_readings_apart_are_none():
    """A believed one between them."""
    bowl = _Bowl()
    for product_mc in (37000, AT_MC, 37000, AT_MC):
        assert bowl.read(product_mc)[0] == 0


def test_a_rise_of_more_than_4_k_stops_at_its_second_reading():
    """4.001 K. The reading that stopped is told."""
    bowl = _Bowl()
    assert bowl.read(AT_MC + 4001) == (0, PROBE_JUMP, 0)
    assert bowl.read(AT_MC + 4001) == (PROBE_JUMP, PROBE_JUMP, 0)
    assert bowl.locks.stop_value == AT_MC + 4001


def test_a_rise_of_more_than_2_k_is_a_warm_ladle():
    """4.0 and 2.001 K: believed at its second reading, a pause that ends near it, and fed."""
    for risen_mc in (4000, 2001):
        bowl = _Bowl(target_mc=36000)
        assert bowl.read(AT_MC + risen_mc) == (0, PROBE_JUMP, 0)
        assert not bowl.locks.is_blurred()
        assert bowl.read(AT_MC + risen_mc) == (0, 0, BY_READING)
        assert (bowl.locks.product_mc, bowl.locks.before_mc) == (AT_MC + risen_mc,) * 2
        assert bowl.locks.is_blurred()
        assert not bowl.locks.is_handled()  # a ladle in the bowl is none in it


def test_a_rise_of_2_k_stays_odd_until_chocolate_could_have_made_it():
    """At 0.5 K a second that is the fourth: neither believed nor a pause before it."""
    bowl = _Bowl(target_mc=36000)
    for _ in range(3):
        assert bowl.read(AT_MC + 2000) == (0, PROBE_JUMP, 0)
        assert bowl.locks.product_mc == AT_MC
    assert bowl.read(AT_MC + 2000) == FINE
    assert bowl.locks.product_mc == AT_MC + 2000


def test_a_small_fall_that_goes_on_is_believed():
    """2.0 K at its second reading: a scraper. 2.001 K: a pause that ends near where it was."""
    for fallen_mc, expected in ((2000, 0), (2001, BY_READING)):
        bowl = _Bowl()
        assert bowl.read(AT_MC - fallen_mc) == (0, PROBE_JUMP, 0)
        assert bowl.read(AT_MC - fallen_mc) == (0, 0, expected)
        assert bowl.locks.product_mc == AT_MC - fallen_mc
        assert bowl.locks.before_mc == AT_MC


def test_what_comes_back_to_where_it_was_is_no_jump():
    """Up to 0.25 K above the warmest of the last minutes, however fast."""
    for over_mc, expected in ((250, 0), (251, PROBE_JUMP)):
        bowl = _Bowl(33000, target_mc=36000)
        bowl.move(30000)
        assert bowl.read(33000 + over_mc) == (0, expected, 0)


def test_where_it_was_is_the_warmest_of_the_last_three_minutes():
    """At 30 for so long: 33 is a jump then."""
    for seconds, expected in ((173, 0), (174, PROBE_JUMP)):
        bowl = _Bowl(33000, target_mc=36000)
        bowl.move(30000)
        for _ in range(seconds - 1):
            bowl.read(30000)
        assert bowl.read(33000)[1] == expected, seconds


def test_where_it_was_is_any_reading_that_was_believed():
    """Up to 33 and down again within seconds."""
    bowl = _Bowl(target_mc=36000)
    bowl.move(33000)
    bowl.move(31000)
    assert bowl.read(33000)[1] == 0


def test_a_pause_stops_the_clock_of_where_it_was():
    """Ten minutes of hands at 30: 33 is still where it was."""
    bowl = _Bowl(33000, target_mc=36000)
    bowl.move(30000)
    bowl.in_pause = True
    for _ in range(600):
        bowl.read(30000)
    bowl.in_pause = False
    assert bowl.read(33000)[1] == 0


def test_what_is_read_in_a_pause_is_not_where_it_was():
    """34 between the hands, 31.5 after them: 34 again is a jump."""
    bowl = _Bowl(target_mc=36000)
    bowl.in_pause = True
    assert bowl.read(34000) == FINE  # believed at once: hands move it as they like
    assert bowl.locks.product_mc == 34000
    bowl.read(AT_MC)
    bowl.in_pause = False
    assert bowl.read(34000)[1] == PROBE_JUMP


def test_expected_cold_takes_the_reading_down_by_6_k():
    """From the warmest of the last minutes, in one second; 6.001 K is odd, and so is a rise."""
    for product_mc, expected in (
        (AT_MC - 6000, 0),
        (AT_MC - 6001, PROBE_JUMP),
        (AT_MC + 501, PROBE_JUMP),
    ):
        bowl = _Bowl()
        bowl.locks.is_cold_expected = 1
        assert bowl.read(product_mc)[1] == expected
    assert _Bowl().read(AT_MC - 6000)[1] == PROBE_JUMP


def test_the_first_reading_of_a_rig_is_no_jump():
    """There is nothing to jump from."""
    bowl = _Bowl(MISSING)
    assert bowl.read(AT_MC) == FINE
    assert bowl.locks.product_mc == AT_MC


def test_an_odd_reading_is_not_a_missing_one():
    """2.0 K up for three seconds: not believed, but heard."""
    bowl = _Bowl(target_mc=36000)
    for _ in range(3):
        bowl.read(AT_MC + 2000)
    assert bowl.wait(2000)[1] == PROBE_JUMP
    assert bowl.locks.stop_code == 0
    bowl.wait(1999)
    assert bowl.locks.stop_code == 0
    bowl.wait(1)
    assert bowl.locks.stop_code == PROBE_MISSING


# Plate.


def test_two_hot_readings_of_the_plate_in_a_row_stop():
    """70.001 on a rig that may have 70; heat is off from the first."""
    bowl = _Bowl(has_plate=1)
    assert bowl.read(AT_MC, plate_mc=70001) == (0, PLATE_HOT, 0)
    assert bowl.wait(250) == (0, PLATE_HOT, 0)
    assert bowl.read(AT_MC, plate_mc=70001) == (PLATE_HOT, PLATE_HOT, 0)
    assert bowl.locks.stop_value == 70001
    bowl = _Bowl(has_plate=1)
    for _ in range(3):
        assert bowl.read(AT_MC, plate_mc=70000)[0] == 0


def test_heat_is_withheld_above_the_steps_wall_limit():
    """60.0 is not above 60. What it has is told."""
    bowl = _Bowl(has_plate=1)
    assert bowl.read(AT_MC, plate_mc=60000) == FINE
    assert bowl.read(AT_MC, plate_mc=60001) == (0, PLATE_HOT, 0)
    assert bowl.locks.withhold_value == 60001
    assert bowl.read(AT_MC, plate_mc=59500) == FINE


# Hot.


def test_chocolate_over_its_step_has_no_heat_and_stops():
    """2.001 K at once no heat, stopped after 30 s of it; more than 4 K stopped at once."""
    bowl = _Bowl()
    assert bowl.move(33500) == FINE
    for _ in range(29):
        assert bowl.read(33501) == (0, CHOCOLATE_HOT, 0)
    assert bowl.locks.withhold_value == 33501
    assert bowl.read(33501) == (CHOCOLATE_HOT, CHOCOLATE_HOT, 0)
    assert bowl.locks.stop_value == 33501
    bowl = _Bowl()
    assert bowl.move(35500) == (0, CHOCOLATE_HOT, 0)
    assert bowl.read(35501) == (CHOCOLATE_HOT, CHOCOLATE_HOT, 0)


def test_an_addition_widens_that_by_2_k_for_180_s():
    """35.5 while a millisecond of it is left; 35.501 never."""
    for passed_ms, product_mc, expected in (
        (179999, 35500, 0),
        (180000, 35500, CHOCOLATE_HOT),
        (179999, 35501, CHOCOLATE_HOT),
    ):
        bowl = _Bowl()
        bowl.locks.declare(0)
        bowl.move(35500)
        bowl.locks.declare(0)
        assert bowl.read(product_mc, passed_ms)[1] == expected


def test_cold_seed_widens_nothing():
    """It can only cool: 33.501 is withheld as it is without an addition."""
    for product_mc, expected in ((33500, 0), (33501, CHOCOLATE_HOT)):
        bowl = _Bowl()
        bowl.move(33500)
        bowl.locks.declare(0)
        bowl.locks.is_cold_expected = 1
        assert bowl.read(product_mc)[1] == expected


def test_chocolate_is_not_judged_hot_in_a_pause():
    """Hands bring warm things; after it, it is."""
    bowl = _Bowl()
    bowl.in_pause = True
    assert bowl.read(AT_MC + 3000) == FINE
    bowl.in_pause = False
    assert bowl.read(AT_MC + 3000) == (0, CHOCOLATE_HOT, 0)


def test_the_ceiling_falls_with_what_is_believed():
    """Begun at 40 in a step to 31.5, cooled to 38: 40.0 may be heated, 40.001 may not."""
    for product_mc, expected in ((40000, 0), (40001, CHOCOLATE_HOT)):
        bowl = _Bowl(40000)
        assert bowl.read(40000) == FINE
        bowl.move(38000)
        assert bowl.move(product_mc) == (0, expected, 0)


def test_without_a_reading_nothing_is_judged_hot_or_once_a_second():
    """MISSING is neither cold nor hot."""
    bowl = _Bowl(MISSING)
    assert bowl.wait(250) == (0, PROBE_MISSING, 0)
    for _ in range(600):
        assert bowl.second(1000)[0] == 0
    bowl.read(AT_MC)
    bowl.second()
    assert bowl.said() == FINE
    assert not bowl.locks.is_blurred()  # the first reading is no rise, so nothing was fed


# People.


def test_an_hour_alone_ends_heat():
    """3600 s on a rig that says so, and no stop; somebody gives it back."""
    bowl = _Bowl()
    bowl.wait(3599999)
    bowl.locks.stop_code = 0
    assert bowl.read(AT_MC, 0) == FINE
    assert bowl.read(AT_MC, 1) == (0, UNATTENDED, 0)
    assert bowl.locks.withhold_value == 3600
    bowl.locks.renew()
    assert bowl.read(AT_MC, 1000) == FINE
    assert bowl.locks.alone_ms == 1000


def test_an_hour_alone_goes_on_in_a_pause():
    """Hands that stay in are nobody."""
    bowl = _Bowl()
    bowl.in_pause = True
    bowl.wait(3600000)
    assert bowl.locks.alone_ms == 3600000


# How much heat.


def test_all_heat_where_nothing_is_against_it():
    """And there is no rest of an addition or of a pause."""
    bowl = _Bowl()
    for _ in range(4):
        bowl.read(AT_MC)
    locks = bowl.locks
    assert (locks.heat_limit_permille, locks.addition_ms, locks.unsettled_ms) == (1000, 0, 0)
    assert not locks.is_blurred()


def test_an_addition_has_a_third_of_the_heat_for_180_s():
    """300 permille, or less where so little chocolate may have less."""
    bowl = _Bowl()
    bowl.locks.declare(0)
    assert bowl.locks.addition_ms == 180000
    assert bowl.locks.is_blurred()
    bowl.wait(179999)
    assert bowl.locks.heat_limit_permille == 300
    assert bowl.locks.is_blurred() and bowl.locks.is_handled()
    bowl.wait(1)
    assert bowl.locks.heat_limit_permille == 1000
    assert not bowl.locks.is_blurred() and not bowl.locks.is_handled()
    bowl = _Bowl(mass_g=250, heater_w=1500, plate_j_per_k=900, has_plate=1, has_sense=1)
    bowl.locks.declare(0)
    bowl.wait(250)
    assert bowl.locks.heat_limit_permille == 127  # 1297 J/K at 148 mK/s: 191 W


def test_what_was_poured_leaves_less_heat():
    """1.75 of 2 kg: half, once the addition is over; the next batch has all again."""
    bowl = _Bowl(heater_w=60)
    bowl.locks.declare(1750)
    bowl.wait(180000)
    assert bowl.locks.heat_limit_permille == 500
    bowl.begin(AT_MC)
    bowl.wait(250)
    assert bowl.locks.heat_limit_permille == 1000


def test_a_doubt_pressed_away_has_a_third_of_the_heat():
    """As long as the witness says so."""
    bowl = _Bowl()
    for is_gentle, expected in ((1, 300), (0, 1000)):
        bowl.locks.seconds.witness.is_gentle = is_gentle
        bowl.wait(250)
        assert bowl.locks.heat_limit_permille == expected


def test_no_heat_for_20_s_after_a_pause():
    """From the very pass it ends; the time of another pause does not count."""
    bowl = _Bowl()
    bowl.wait(250)
    bowl.locks.after_pause(1)
    assert bowl.locks.heat_limit_permille == 0
    bowl.wait(19999)
    assert bowl.locks.heat_limit_permille == 0
    assert bowl.locks.is_blurred()
    bowl.in_pause = True
    bowl.wait(60000)
    assert bowl.locks.heat_limit_permille == 0
    bowl.in_pause = False
    bowl.wait(1)
    assert bowl.locks.heat_limit_permille == 1000
    assert not bowl.locks.is_blurred()


def test_where_nothing_watches_the_switch_chocolate_over_its_step_gets_no_heat():
    """0.4 K over: none without sense and plate probe; with either it is left to the regulator."""
    for has_plate, has_sense, expected in ((0, 0, 0), (1, 0, 1000), (0, 1, 1000), (1, 1, 1000)):
        bowl = _Bowl(has_plate=has_plate, has_sense=has_sense)
        bowl.read(AT_MC + 400, plate_mc=AT_MC)
        assert bowl.locks.heat_limit_permille == 1000
        bowl.read(AT_MC + 401, plate_mc=AT_MC)
        assert bowl.locks.heat_limit_permille == expected, (has_plate, has_sense)
        assert bowl.said() == (0, 0, 0)


# First causes.


def test_the_first_cause_stays_the_cause():
    """Out of range, then too old, then hot: the stop keeps its code and value."""
    bowl = _Bowl()
    bowl.read(0)
    bowl.read(-5)
    bowl.wait(5000)
    assert (bowl.locks.stop_code, bowl.locks.stop_value) == (PROBE_RANGE, -5)


def test_the_first_reason_of_a_pass_is_the_one_told():
    """An odd reading over a plate above its wall: the reading. The next pass has its own."""
    bowl = _Bowl(has_plate=1)
    assert bowl.read(AT_MC + 600, plate_mc=60001) == (0, PROBE_JUMP, 0)
    assert bowl.locks.withhold_value == AT_MC + 600
    assert bowl.read(AT_MC, plate_mc=60001) == (0, PLATE_HOT, 0)
    assert bowl.read(AT_MC, plate_mc=40000) == FINE


def test_hands_are_asked_for_once():
    """In the pass that saw them; a doubt remembers the reading that is in doubt."""
    bowl = _Bowl()
    bowl.read(AT_MC + 500)
    bowl.locks.doubt()
    assert bowl.said() == (0, 0, BY_DOUBT)
    assert bowl.locks.before_mc == AT_MC + 500
    assert bowl.wait(250) == FINE


# What a ladle, seed and doubts blur.


def test_a_ladle_blurs_for_180_s():
    """Of the ten minutes in which it may be 2 K over, the second of its reading included."""
    bowl = _Bowl(target_mc=40000)
    bowl.read(AT_MC + 2001)
    bowl.read(AT_MC + 2001, 1000)
    bowl.wait(178999)
    assert bowl.locks.is_blurred()
    bowl.wait(1)
    assert not bowl.locks.is_blurred()


def test_a_rise_that_no_heat_makes_is_a_ladle():
    """Half a kelvin over a colder plate, seen once a second."""
    for risen_mc, expected in ((499, False), (500, True)):
        bowl = _Bowl(has_plate=1)
        bowl.read(AT_MC, plate_mc=AT_MC - 1000)
        bowl.second()
        bowl.read(AT_MC + risen_mc, plate_mc=AT_MC - 1000)
        bowl.second()
        assert bool(bowl.locks.is_blurred()) == expected


def test_expected_cold_blurs():
    """Until it is over."""
    bowl = _Bowl()
    bowl.locks.is_cold_expected = 1
    assert bowl.locks.is_blurred()


# Once a second.


def test_heat_that_does_not_show_stops():
    """2 kg and the plate take 4500 J/K: 6750 J and 3333 J for the plate are 101 s of 100 W."""
    bowl = _Bowl(40000, target_mc=48000)
    assert _stopped_s(bowl) == 101
    assert bowl.locks.stop_value == 40000


def _stopped_s(bowl, most_s=300):
    for second in range(1, most_s + 1):
        if bowl.second(1000, "melt")[0]:
            assert bowl.locks.stop_code == NO_RISE
            return second
    return 0


def test_an_addition_begins_the_heat_anew():
    """100 s, something goes in, 101 s."""
    bowl = _Bowl(40000, target_mc=48000)
    assert _stopped_s(bowl, 100) == 0
    bowl.locks.declare(0)
    assert _stopped_s(bowl) == 101


def test_a_batch_begins_the_heat_anew_with_its_own_mass():
    """100 s of 2 kg, then a batch of 3 kg: 6500 J/K, 9750 and 3333 J."""
    bowl = _Bowl(40000, target_mc=48000)
    assert _stopped_s(bowl, 100) == 0
    bowl.begin(40000, 3000)
    assert _stopped_s(bowl) == 131


def test_a_fall_counts_from_the_warmest_believed_of_the_step():
    """Warmed from 31.5 to 33: a pause at 29.999, more than 3 K down."""
    for product_mc, expected in ((30000, 0), (29999, BY_READING)):
        bowl = _Bowl()
        bowl.move(33000)
        bowl.move(product_mc)
        assert bowl.second()[2] == expected


def test_a_fall_of_the_step_before_is_none_of_this_one():
    """Cooled from 40 to 36, then working."""
    bowl = _Bowl(40000, target_mc=36000)
    bowl.move(36000)
    bowl.locks.begin_step(36000)
    assert bowl.second()[2] == 0


def test_a_fall_in_a_pause_is_none_after_it():
    """4 K down between the hands."""
    bowl = _Bowl()
    bowl.in_pause = True
    bowl.read(AT_MC - 4000)
    bowl.in_pause = False
    bowl.locks.after_pause(1)
    assert bowl.second()[2] == 0


def test_the_witness_knows_how_warm_it_was_before_the_present_half_minute():
    """33 at the begin, 32.5 since: 33 for three minutes, then 32.5."""
    bowl = _Bowl(33000, target_mc=36000)
    for count in range(200):
        bowl.read(32500)
        bowl.second()
        if count in (0, 148):
            assert bowl.locks.seconds.witness.earlier_mc == 33000
    assert bowl.locks.seconds.witness.earlier_mc == 32500


# The way back from a pause.


def _settled_ms(bowl, most_ms=40000):
    for passed_ms in range(250, most_ms + 1, 250):
        if bowl.locks.settled(250):
            return passed_ms
    return 0


def _paused(before_mc=AT_MC, now_mc=AT_MC):
    bowl = _Bowl(before_mc)
    bowl.locks.pause(before_mc)
    bowl.in_pause = True
    bowl.read(now_mc)
    return bowl


def test_a_pause_that_nobody_declared_ends_after_20_s_of_a_steady_reading():
    """80 passes; one of them less is not enough."""
    bowl = _paused()
    assert not any(bowl.locks.settled(250) for _ in range(79))
    assert bowl.locks.settled(250)


def test_steady_is_within_a_quarter_kelvin():
    """Up or down by 0.25 K: steady. By 0.251 K: it counts anew, from there."""
    for moved_mc, expected_ms in ((250, 250), (-250, 250), (251, 20000), (-251, 20000)):
        bowl = _paused()
        assert _settled_ms(bowl, 19750) == 0
        bowl.read(AT_MC + moved_mc)
        assert _settled_ms(bowl) == expected_ms
    bowl = _paused()
    bowl.read(AT_MC - 251)
    assert _settled_ms(bowl, 19750) == 0
    bowl.read(AT_MC - 502)
    assert _settled_ms(bowl) == 20000
    bowl.read(AT_MC - 251)
    assert _settled_ms(bowl) == 20000


def test_a_pause_ends_by_itself_only_near_where_the_chocolate_was():
    """3.0 K below it: yes. 3.001 K: never. Above it: yes."""
    for now_mc, expected_ms in ((AT_MC - 3000, 20000), (AT_MC - 3001, 0), (AT_MC + 3000, 20000)):
        assert _settled_ms(_paused(AT_MC, now_mc)) == expected_ms


def test_a_pause_ends_by_itself_only_where_the_witness_agrees():
    """Else by a press."""
    bowl = _paused()
    bowl.locks.seconds.witness.may_return = lambda product_mc, plate_mc: False
    assert _settled_ms(bowl) == 0


def test_each_pause_counts_its_own_20_s_from_its_own_reading():
    """19.75 s of one, then another; and in a new batch as well."""
    bowl = _paused()
    assert _settled_ms(bowl, 19750) == 0
    bowl.locks.pause(AT_MC)
    assert bowl.locks.hands == BY_READING
    assert _settled_ms(bowl, 19750) == 0
    bowl.begin(AT_MC)
    assert _settled_ms(bowl) == 20000
    bowl = _paused(AT_MC, AT_MC + 200)
    bowl.locks.pause(AT_MC)
    assert _settled_ms(bowl, 19750) == 0
    bowl.read(AT_MC + 450)
    assert _settled_ms(bowl) == 250


def test_more_than_4_k_above_where_it_was_stops_on_the_way_back():
    """4.0 K a ladle can do."""
    for risen_mc, expected in ((4000, 0), (4001, PROBE_JUMP)):
        bowl = _paused(AT_MC, AT_MC + risen_mc)
        bowl.locks.after_pause(1)
        assert bowl.locks.stop_code == expected
        assert bowl.locks.stop_value == (AT_MC + risen_mc if expected else 0)


def test_more_than_4_k_above_where_it_was_is_no_end_of_a_pause_and_stops_after_two_minutes():
    """A scraper may hold the probe at the wall: 479 passes of 250 ms; the next stops."""
    for risen_mc, expected in ((4000, 0), (4001, PROBE_JUMP)):
        bowl = _paused(AT_MC, AT_MC + risen_mc)
        ended = [bowl.locks.settled(250) for _ in range(479)]
        assert any(ended) == (not expected)
        assert bowl.locks.stop_code == 0
        bowl.locks.settled(250)
        assert bowl.locks.stop_code == expected
        assert bowl.locks.stop_value == (AT_MC + risen_mc if expected else 0)


def test_the_two_minutes_of_a_warm_reading_are_in_a_row_and_of_one_pause():
    """479 passes, one at 4.0 K, 479 more: none stops; nor does a second pause go on counting."""
    for again in ("cooler", "paused"):
        bowl = _paused(AT_MC, AT_MC + 4001)
        assert not any(bowl.locks.settled(250) for _ in range(479))
        if again == "cooler":
            bowl.read(AT_MC + 4000)
            bowl.locks.settled(250)
            bowl.read(AT_MC + 4001)
        else:
            bowl.locks.pause(AT_MC)
        for _ in range(479):
            bowl.locks.settled(250)
        assert bowl.locks.stop_code == 0, again


def test_an_odd_reading_from_before_a_pause_does_not_count_after_it():
    """One before, one after: apart."""
    bowl = _Bowl()
    bowl.read(AT_MC + 5000)
    bowl.locks.after_pause(0)
    assert bowl.wait(250) == FINE
    assert bowl.read(AT_MC + 5000) == (0, PROBE_JUMP, 0)


def test_time_over_the_limit_from_before_a_pause_does_not_count_after_it():
    """29 s over by 2.001 K, hands, 29 s."""
    bowl = _Bowl()
    bowl.move(33501)
    for _ in range(28):
        bowl.read(33501)
    bowl.locks.after_pause(1)
    for _ in range(29):
        assert bowl.read(33501)[0] == 0
    assert bowl.read(33501)[0] == CHOCOLATE_HOT


def test_what_was_only_taken_for_hands_leaves_its_heat_to_be_shown():
    """100 s, a pause that nobody declared, one second more: stopped. Declared: 101 s."""
    for is_declared, expected in ((0, 1), (1, 101)):
        bowl = _Bowl(40000, target_mc=48000)
        assert _stopped_s(bowl, 100) == 0
        bowl.locks.after_pause(is_declared)
        assert _stopped_s(bowl) == expected


def test_a_batch_begins_with_nothing_against_it():
    """Stopped, withheld, hands, fed, alone, an addition, no heat after a pause: all gone."""
    bowl = _Bowl(target_mc=40000)
    bowl.read(33501)
    bowl.read(33501)
    bowl.locks.declare(0)
    bowl.locks.after_pause(1)
    bowl.read(0)
    bowl.read(0)
    bowl.locks.doubt()
    assert 0 not in bowl.said()
    bowl.begin(29000)
    locks = bowl.locks
    assert bowl.said() == FINE
    assert (locks.alone_ms, locks.addition_ms, locks.unsettled_ms) == (0, 0, 0)
    assert (locks.product_mc, locks.before_mc) == (29000, 29000)
    assert not locks.is_blurred()
    assert bowl.wait(250) == FINE
    assert bowl.read(AT_MC)[1] == PROBE_JUMP  # what was warm before is not where it was


def test_a_batch_begins_without_the_odd_reading_before_it():
    """Heat may be on at once, and one odd reading in it is the first."""
    bowl = _Bowl()
    assert bowl.read(AT_MC + 5000) == (0, PROBE_JUMP, 0)
    bowl.begin(AT_MC)
    assert bowl.wait(250) == FINE
    assert bowl.read(AT_MC + 5000) == (0, PROBE_JUMP, 0)


def test_what_is_steady_counts_from_the_begin_of_a_batch():
    """Begun at 31.7, 31.94 is near it, whatever the pause before was steady at."""
    bowl = _paused()
    assert _settled_ms(bowl, 19750) == 0
    bowl.begin(AT_MC + 200)
    assert _settled_ms(bowl, 19750) == 0
    bowl.read(AT_MC + 440)
    assert _settled_ms(bowl) == 250


def test_a_batch_that_begins_warm_has_its_own_ceiling():
    """After one at 31.5 a bowl at 40 cools: no stop, no heat taken away."""
    bowl = _Bowl()
    bowl.read(AT_MC)
    bowl.begin(40000)
    assert bowl.wait(250) == FINE
