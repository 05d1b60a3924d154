"""Chocolate against its ceiling, at the edge: one mC on either side, one pass early."""

from fw_fakes import MISSING, bench
from rigfw.hot import HotCheck, _times_1000

TARGET_MC = 31500


def _check(mass_g=1000, product_mc=TARGET_MC, recent_mc=TARGET_MC):
    check = HotCheck(bench())
    check.begin(mass_g)
    check.begin_step(product_mc, recent_mc)
    check.believe(product_mc)
    return check


def _pass(check, product_mc, recent_mc=TARGET_MC, wider_mc=0, passed_ms=250):
    """(withhold, stop) of one pass."""
    check.judge(product_mc, TARGET_MC, recent_mc, wider_mc, passed_ms)
    return check.withhold, check.stop


def _stopped_ms(check, product_mc, most_ms=40000, **of_pass):
    """The ms of passes after which it stops, 0 for never."""
    for passed_ms in range(250, most_ms + 1, 250):
        if _pass(check, product_mc, **of_pass)[1]:
            return passed_ms
    return 0


def test_two_kelvin_over_a_plate_that_is_no_warmer_is_no_heat_of_the_rig():
    """As warm as its plate, or warmer: it never stops, 4 K still does. 1 mC cooler, or a plate
    that nobody measures: 30 s. A new batch knows nothing of the plate before."""
    for plate_mc, expected_ms in ((33501, 0), (33000, 0), (33502, 30000), (MISSING, 30000)):
        check = _check()
        check.second(33501, plate_mc)
        assert _stopped_ms(check, 33501) == expected_ms, plate_mc
        assert _pass(check, 35501) == (1, 1)
    check = _check()
    check.second(33501, 33000)
    check.begin(1000)
    check.begin_step(TARGET_MC, TARGET_MC)
    assert _stopped_ms(check, 33501) == 30000


def test_heat_is_withheld_above_2_k_over_the_step():
    """33.5 at 31.5 may be heated, 33.501 may not, and an addition widens it by what it says."""
    assert _pass(_check(), 33500) == (0, 0)
    assert _pass(_check(), 33501) == (1, 0)
    assert _pass(_check(), 35500, wider_mc=2000) == (0, 0)
    assert _pass(_check(), 35501, wider_mc=2000) == (1, 0)


def test_chocolate_more_than_400_mc_over_its_step_is_warm_enough():
    """31.9 is not, 31.901 is; an addition widens it; it counts from where a warmer step began."""
    check = _check()
    for product_mc, wider_mc, expected in ((31900, 0, 0), (31901, 0, 1), (33900, 2000, 0),
                                           (33901, 2000, 1), (31900, 0, 0)):  # fmt: skip
        _pass(check, product_mc, wider_mc=wider_mc)
        assert check.is_warm == expected, product_mc
    _pass(check, 31901)
    check.begin(1000)
    assert check.is_warm == 0
    warmer = _check(product_mc=40000)
    _pass(warmer, 40400)
    assert warmer.is_warm == 0
    _pass(warmer, 40401)
    assert warmer.is_warm == 1


def test_withholding_ends_with_its_cause():
    """Back at 33.5: heat again."""
    check = _check()
    assert _pass(check, 33501) == (1, 0)
    assert _pass(check, 33500) == (0, 0)


def test_heat_is_withheld_above_the_rigs_own_ceiling():
    """A rig that may have 55: 55.0 yes, 55.001 no, whatever the step had when it began."""
    for product_mc, expected in ((55000, 0), (55001, 1)):
        check = _check(product_mc=60000, recent_mc=60000)
        assert _pass(check, product_mc, recent_mc=60000) == (expected, 0)


def test_more_than_4_k_over_the_step_stops_at_once():
    """35.5: not yet. 35.501: in that pass. An addition widens it by what it says."""
    assert _pass(_check(), 35500) == (1, 0)
    assert _pass(_check(), 35501) == (1, 1)
    assert _pass(_check(), 37500, wider_mc=2000) == (1, 0)
    assert _pass(_check(), 37501, wider_mc=2000) == (1, 1)


def test_more_than_2_k_over_the_step_stops_after_30_s():
    """33.501 for 30.0 s, and never at 33.5."""
    assert _stopped_ms(_check(), 33500) == 0
    assert _stopped_ms(_check(), 33501) == 30000


def test_time_over_the_limit_counts_in_a_row():
    """29.75 s over, one pass that is not, 29.75 s over: no stop."""
    check = _check()
    assert _stopped_ms(check, 33501, 29750) == 0
    _pass(check, 33500)
    assert _stopped_ms(check, 33501, 29750) == 0
    assert _pass(check, 33501) == (1, 1)


def test_time_over_the_limit_counts_anew_after_hands_and_in_a_new_step():
    """29.75 s, hands or a new step, 29.75 s: no stop."""
    for anew in (
        lambda one: one.after_pause(),
        lambda one: one.begin_step(TARGET_MC, TARGET_MC),
    ):
        check = _check()
        assert _stopped_ms(check, 33501, 29750) == 0
        anew(check)
        assert _stopped_ms(check, 33501, 29750) == 0
        assert _pass(check, 33501) == (1, 1)


def test_the_stop_ends_with_its_cause():
    """What latches is the rig: the check itself judges each pass."""
    check = _check()
    assert _pass(check, 35501) == (1, 1)
    assert _pass(check, 31500) == (0, 0)


def test_a_batch_begins_without_a_past():
    """Withheld, stopped and fed before: none of it is left."""
    check = _check()
    check.feed()
    _pass(check, 35501)
    check.begin(1000)
    assert (check.withhold, check.stop, check.fed_ms) == (0, 0, 0)


def test_the_ceiling_falls_with_the_chocolate_and_never_rises():
    """Begun at 40 in a step to 31.5: 42 may be heated; once it had 38, only 40 may."""
    check = _check(product_mc=40000)
    assert check.ceiling_mc(TARGET_MC) == 40000
    for product_mc, ceiling_mc in ((41000, 40000), (38000, 38000), (39000, 38000), (30000, 31500)):
        check.believe(product_mc)
        assert check.ceiling_mc(TARGET_MC) == ceiling_mc
    check.begin_step(40000, 40000)
    check.believe(38000)
    assert _pass(check, 40000, recent_mc=40000)[0] == 0
    assert _pass(check, 40001, recent_mc=40000)[0] == 1


def test_a_step_that_begins_without_a_reading_has_its_first_as_ceiling():
    """MISSING is no low temperature."""
    check = _check(product_mc=MISSING)
    check.believe(40000)
    assert check.ceiling_mc(TARGET_MC) == 40000


def test_the_ceiling_is_60_degrees_at_most():
    """A bowl that begins at 63 is not heated at 60 either, and stops above 64."""
    check = _check(product_mc=63000, recent_mc=63000)
    assert check.ceiling_mc(TARGET_MC) == 60000
    assert _pass(check, 64000, recent_mc=64000) == (1, 0)
    assert _pass(check, 64001, recent_mc=64001) == (1, 1)


def test_what_stops_is_measured_from_the_coolest_of_the_last_minutes():
    """A step begun at 40 that has been at 38 for minutes: 42.0 may be, 42.001 stops."""
    check = _check(product_mc=40000, recent_mc=40000)
    check.believe(38000)
    assert _pass(check, 38000, recent_mc=38000) == (0, 0)
    assert _pass(check, 42000, recent_mc=42000) == (1, 0)
    assert _pass(check, 42001, recent_mc=42001) == (1, 1)


def test_a_dip_by_hands_lowers_what_may_be_heated_and_not_what_stops():
    """A step begun at 40, 38 for one reading: no heat above 40, a stop only above 44."""
    check = _check(product_mc=40000, recent_mc=40000)
    check.believe(38000)
    assert _pass(check, 40001, recent_mc=40001) == (1, 0)
    assert _pass(check, 44000, recent_mc=44000) == (1, 0)
    assert _pass(check, 44001, recent_mc=44001) == (1, 1)


def test_each_step_measures_from_its_own_coolest():
    """After a step at 31.5 one that begins at 40 does not stop there."""
    check = _check()
    _pass(check, TARGET_MC)
    check.begin_step(40000, 40000)
    assert _pass(check, 44000, recent_mc=44000) == (1, 0)


def test_fed_chocolate_may_be_2_k_over_for_ten_minutes_but_never_4():
    """600 s of grace, 30 s more to the stop; 4 K over stops in it, too."""
    check = _check()
    check.feed()
    assert check.fed_ms == 600000
    assert _stopped_ms(check, 33501, 700000) == 600000 - 250 + 30000
    check.feed()
    assert _pass(check, 35501) == (1, 1)


def test_grace_runs_out_and_does_not_go_on_below_nothing():
    """One pass of grace left is none after it, and later passes take nothing more."""
    check = _check()
    check.feed()
    check.judge(TARGET_MC, TARGET_MC, TARGET_MC, 0, 600000)
    assert check.fed_ms == 0
    _pass(check, TARGET_MC)
    assert check.fed_ms == 0


def _fed(rise_mc, plate_mc, mass_g=1000, seconds=15):
    """Whether a rise by so much, shown in the last of so many readings, is taken for a feed."""
    check = _check(mass_g)
    for _ in range(seconds - 1):
        check.second(TARGET_MC, plate_mc)
        assert check.fed_ms == 0
    check.second(TARGET_MC + rise_mc, plate_mc)
    return check.fed_ms > 0


def test_a_rise_beyond_what_the_heater_drives_was_fed():
    """100 W drive a kilogram by 0.943 K in 15 s at the most; a quarter more is 1.178 K."""
    assert not _fed(1177, 60000)
    assert _fed(1178, 60000)
    assert not _fed(1177, MISSING)
    assert _fed(1178, MISSING)


def test_half_a_kelvin_is_the_least_that_was_fed():
    """6 kg are driven by 0.196 K: 0.499 K are noise, 0.5 K a ladle."""
    assert not _fed(499, 60000, 6000)
    assert _fed(500, 60000, 6000)


def test_a_rise_over_a_plate_that_is_no_hotter_was_fed():
    """Through the plate it cannot have come: half a kelvin is enough."""
    assert _fed(500, TARGET_MC + 500)
    assert not _fed(500, TARGET_MC + 501)
    assert not _fed(499, TARGET_MC)


def test_a_rise_counts_within_15_readings():
    """From the first of fifteen to the last; a sixteenth is too late."""
    for between, expected in ((13, True), (14, False)):
        check = _check()
        check.second(TARGET_MC, 60000)
        for _ in range(between):
            check.second(TARGET_MC + 600, 60000)
        check.second(TARGET_MC + 1200, 60000)
        assert (check.fed_ms > 0) == expected


def test_no_rise_is_no_feed():
    """A reading that stands still over a colder plate."""
    check = _check()
    for _ in range(30):
        check.second(TARGET_MC, TARGET_MC - 5000)
    assert check.fed_ms == 0


def test_rises_from_before_hands_or_a_batch_do_not_count():
    """31.5, then hands or a batch, then 33.5: nothing rose since."""
    for anew in (lambda one: one.after_pause(), lambda one: one.begin(1000)):
        check = _check()
        check.second(TARGET_MC, 60000)
        anew(check)
        check.second(TARGET_MC + 2000, 60000)
        assert check.fed_ms == 0


def test_a_thousandfold_part_is_exact_without_great_numbers():
    """As 1000 * part // whole for the smallest and the strongest rig and any mass between."""
    for heater_w in (10, 100, 1999, 2000):
        for mass_g in (1, 7, 250, 1999, 15000):
            part, whole = 1000 * heater_w * 15, mass_g * 1590
            assert _times_1000(part, whole) == 1000 * part // whole
