"""Heat without a rise, at the edge: the joule and the second at which it must have shown.

100 W; the plate takes 500 J/K and passes 15 W/K. The described loss is 1 W/K and counts half as
much again. A kilogram and the plate take 2500 J/K, and the plate takes 500 * 100 / 15 = 3333 J
before anything flows.
"""

from fw_fakes import MISSING, bench
from rigfw.rise import RiseCheck

TARGET_MC = 48000
MELTED_MC = 40000


def _check(mass_g=1000, from_mc=MELTED_MC, **changes):
    check = RiseCheck(bench(**changes))
    check.begin(from_mc, mass_g)
    return check


def _told(check, product_mc=MELTED_MC, permille=1000, most_s=2000, **at):
    """The second in which it says that nothing rises, 0 for none. No loss unless told so."""
    plate_mc, room_mc = at.get("plate_mc", MISSING), at.get("room_mc", 100000)
    target_mc = at.get("target_mc", TARGET_MC)
    for second in range(1, most_s + 1):
        if check.second(permille, product_mc, plate_mc, room_mc, target_mc):
            return second
    return 0


def test_melted_chocolate_shows_one_and_a_half_kelvin_of_heat():
    """1.5 K take 3750 J and the plate 3333 J: at 7083 J, the 71st second of 100 W."""
    assert _told(_check()) == 71
    assert _told(_check(2000)) == 101  # 4500 J/K: 6750 + 3333 J


def test_the_very_joule_counts():
    """50 W over 20 W/K: 3750 and 1250 J are 100 s; a thousandth less of heat takes one more."""
    assert _told(_check(heater_w=50, plate_w_per_k=20)) == 100
    assert _told(_check(heater_w=50, plate_w_per_k=20), permille=999) == 101


def test_melting_fat_may_take_63_kj_a_kilogram_more():
    """From 35.999 degC: 70083 J. From 36.0 as melted."""
    assert _told(_check(from_mc=35999), 35999) == 701
    assert _told(_check(from_mc=36000), 36000) == 71


def test_the_loss_may_be_half_as_great_again():
    """20 K over the room: 30 W of 100 do not count, and nothing is judged in full loss."""
    assert _told(_check(), room_mc=20000) == 102  # 7083 J / 70 W
    assert _told(_check(loss_mw_per_k=4000), room_mc=20000) == 0  # 120 W
    assert _told(_check(), room_mc=MELTED_MC) == 71
    assert _told(_check(), room_mc=MELTED_MC + 5000) == 71  # a warm room is no heater


def test_without_a_room_probe_the_room_is_taken_for_15_degrees():
    """25 K over it: 37.5 W of loss, 62.5 W left."""
    assert _told(_check(), room_mc=MISSING) == 114  # 7083 J / 62.5 W


def test_nearer_than_1_k_to_its_target_chocolate_need_not_rise():
    """At 1.0 K below it must; at 0.999 K never."""
    assert _told(_check(), target_mc=MELTED_MC + 1000) == 71
    assert _told(_check(), target_mc=MELTED_MC + 999) == 0


def test_a_bowl_that_comes_near_its_target_owes_nothing():
    """70 s, one near its target, then far from one again: 71 s from there, none from before."""
    check = _check()
    assert _told(check, most_s=70) == 0
    assert _told(check, target_mc=MELTED_MC, most_s=1) == 0
    assert _told(check, target_mc=MELTED_MC, most_s=100) == 0
    assert _told(check) == 71


def test_half_of_the_expected_rise_is_enough():
    """0.75 K in time: it counts anew from there. 0.749 K is none."""
    for risen_mc, expected in ((750, 71), (749, 1)):
        check = _check()
        assert _told(check, most_s=70) == 0
        assert _told(check, MELTED_MC + risen_mc) == expected


def test_it_counts_from_the_first_reading_where_a_batch_had_none():
    """MISSING is no temperature to rise from."""
    assert _told(_check(from_mc=MISSING)) == 71


def test_what_cold_pieces_took_must_come_back_first():
    """A fall of 0.399 K: 2500 J/K more. Of 0.4 K: the fat of what went in may melt as well."""
    for fallen_mc, expected in ((399, 81), (400, 711)):
        # 2500 * 1.899 + 3333 = 8080 J; 2500 * 1.9 + 3333 + 63000 = 71083 J
        assert _told(_check(), MELTED_MC - fallen_mc) == expected


def test_a_fall_counts_from_its_lowest():
    """Down by 0.399 K and back: the lowest stays what must come back."""
    check = _check()
    assert _told(check, MELTED_MC - 399, most_s=1) == 0
    assert _told(check) == 80


def test_heat_counts_from_when_it_is_more_than_the_loss():
    """An hour without heat, 30 W of loss: nothing is owed when it begins."""
    check = _check()
    assert _told(check, permille=0, room_mc=20000, most_s=3600) == 0
    assert _told(check) == 71


def test_small_heat_adds_up():
    """0.9 W into 40 J/K owe 60 J, and 13 J to the plate: 82 s, no part of a joule is lost."""
    check = _check(10, heater_w=10, plate_j_per_k=20)
    assert _told(check, permille=90) == 82
    check.renew(MELTED_MC)
    assert _told(check, permille=90, most_s=1) == 0  # leaves 0.9 J, which do not count
    check.renew(MELTED_MC)
    assert _told(check, permille=90) == 82


def test_hands_and_additions_begin_anew():
    """70 s, then renewed at another reading: 71 s from there, its state of fat counts."""
    check = _check()
    assert _told(check, most_s=70) == 0
    check.renew(MELTED_MC)
    assert _told(check) == 71
    check.renew(35999)
    assert _told(check, 35999) == 701


def test_a_batch_begins_anew():
    """70 s of another batch are forgotten, and so is its mass."""
    check = _check()
    assert _told(check, most_s=70) == 0
    check.begin(MELTED_MC, 2000)
    assert _told(check) == 101


# With a plate probe. Near its target, so that the chocolate itself is not judged.


def _near(check, gap_mc, most_s=400, permille=1000, room_mc=100000):
    return _told(
        check, permille=permille, plate_mc=MELTED_MC + gap_mc, target_mc=MELTED_MC,
        room_mc=room_mc, most_s=most_s,
    )  # fmt: skip


def _warm(permille=1000, **changes):
    """A check whose mean heat has come down to this, over a plate that is hot enough.

    From above it settles at the very figure, from below 63 mW under it: it is rounded down.
    """
    check = _check(**changes)
    assert _near(check, 20000, 1500) == 0
    assert _near(check, 20000, 1500, permille) == 0
    return check


def test_the_plate_must_be_hotter_by_a_quarter_of_what_its_heat_makes():
    """45 W over 15 W/K are 3 K: 0.75 K is enough, 0.749 K is not."""
    assert _near(_warm(450), 750, permille=450) == 0
    assert _near(_warm(450), 749, permille=450) == 30


def _falls(check, gap_mc, by_mc, permille=600, most_s=100, now_permille=None):
    """The second in which a plate that falls by so much each second is told, 0 for none."""
    _near(check, gap_mc + by_mc + 1, 1, permille)
    now_permille = permille if now_permille is None else now_permille
    for second in range(1, most_s + 1):
        plate_mc = MELTED_MC + gap_mc - by_mc * (second - 1)
        if check.second(now_permille, MELTED_MC, plate_mc, 100000, MELTED_MC):
            return second
    return 0


def test_a_plate_that_falls_under_heat_must_have_half_of_what_its_heat_makes():
    """60 W over 15 W/K are 4 K: from 1.999 K on for 30 s, and by more than 0.25 K in all."""
    assert _falls(_warm(600), 1999, 15) == 30
    assert _falls(_warm(600), 2000, 15) == 31
    assert _falls(_warm(600), 1999, 5) == 52  # 51 times 5 mC
    assert _falls(_warm(600), 1999, 0) == 0
    assert _falls(_warm(600), 1999, -5) == 0
    assert _falls(_warm(600), 1999, 5, most_s=51) == 0


def test_each_fall_counts_from_where_it_began():
    """A second of one, a good one, and a plate that stays 0.5 K lower for a minute: none."""
    check = _warm(600)
    assert _falls(check, 1999, 15, most_s=1) == 0
    assert _near(check, 4000, 1, 600) == 0
    assert _near(check, 1499, 60, 600) == 0


def test_a_plate_may_fall_where_its_heat_is_less_than_half_or_ends():
    """50 W count and 49.9 W do not; nor does heat that is less than half of its mean."""
    for permille, gap_mc, expected in ((500, 1660, 30), (499, 1660, 0)):
        assert _falls(_warm(permille), gap_mc, 15, permille, most_s=40) == expected
    for mean_mw, expected in (
        (99988, 29),
        (99989, 31),
    ):  # 49.6 W, and 99.200 or 99.201 in the mean
        check = _warm(1000)
        _near(check, 2006, 1)
        check._mean_mw = mean_mw
        for second in range(1, 40):
            if check.second(496, MELTED_MC, MELTED_MC + 1991 - 15 * second, 100000, MELTED_MC):
                break
        assert second == expected


def test_a_cold_plate_counts_30_s_in_a_row():
    """29 s, one good reading, 29 s: nothing. The thirtieth tells, and each that follows."""
    check = _warm()
    assert _near(check, 1000, 29) == 0
    assert _near(check, 20000, 1) == 0
    assert _near(check, 1000, 29) == 0
    assert _near(check, 1000) == 1
    assert _near(check, 1000) == 1


def test_the_whole_loss_is_taken_off_the_plate():
    """30 K over the room lose 45 W of 90: 3 K, a quarter of them 0.75 K."""
    assert _near(_warm(900), 750, permille=900, room_mc=10000) == 0
    assert _near(_warm(900), 749, permille=900, room_mc=10000) == 30


def test_below_30_percent_of_net_heat_the_gap_is_not_judged():
    """30 W are judged, 29.9 W are not, and what counts is net of the loss."""
    assert _near(_warm(300), 100, permille=300) == 30
    assert _near(_warm(299), 100, permille=299) == 0
    assert _near(_warm(600), 100, permille=600, room_mc=20000) == 30  # 30 W of loss
    assert _near(_warm(599), 100, permille=599, room_mc=20000) == 0


def test_a_plate_no_hotter_than_its_chocolate_at_half_of_all_heat_is_dead():
    """Whatever the loss: at 0.0 K; at 0.001 K it is hotter. Below half of the heat: no."""
    for gap_mc, permille, expected in ((0, 500, 30), (-1, 500, 30), (1, 500, 0), (0, 499, 0)):
        check = _warm(permille, loss_mw_per_k=2000)
        assert _near(check, gap_mc, permille=permille, room_mc=0) == expected


def test_a_plate_1_k_colder_that_keeps_a_fifth_of_all_heat_is_no_plate():
    """20 W over half of what may be lost: swapped probes. 0.999 K may be the two probes' own."""
    assert _near(_warm(200), -1000, permille=200) == 30
    assert _near(_warm(200), -999, permille=200) == 0
    assert _near(_warm(199), -1000, permille=199) == 0
    assert _near(_warm(350), -1000, permille=350, room_mc=20000) == 30  # 20 K: 30 W, half of it
    assert _near(_warm(349), -1000, permille=349, room_mc=20000) == 0


def test_the_mean_heat_reaches_back_a_minute():
    """Full heat from none: 63 % after 64 s. A plate no hotter is told 30 s after half is there."""
    assert _near(_check(loss_mw_per_k=20000), 0, room_mc=0) == 74  # 64 * ln 2 = 44.4 s, and 30


def test_the_mean_begins_anew_after_a_pause():
    """And the seconds of a cold plate do, too."""
    check = _warm()
    assert _near(check, 0, 29) == 0
    check.after_pause()
    assert _near(check, 0, 29) == 0
    fresh = _check()
    fresh_s = _near(fresh, 0)
    check = _warm()
    check.after_pause()
    assert _near(check, 0) == fresh_s


def test_a_batch_begins_with_no_mean():
    """What the batch before heated is no heat of this one."""
    check = _warm()
    check.begin(MELTED_MC, 1000)
    assert _near(check, 0) == _near(_check(), 0)


def test_renewed_the_seconds_of_a_cold_plate_count_anew():
    """29 s, an addition, 29 s: nothing."""
    check = _warm()
    assert _near(check, 0, 29) == 0
    check.renew(MELTED_MC)
    assert _near(check, 0) == 30


def test_without_a_plate_probe_the_plate_is_not_judged():
    """MISSING is no cold plate."""
    check = _check()
    assert _told(check, target_mc=MELTED_MC) == 0


def test_a_cold_plate_tells_while_the_chocolate_climbs_too():
    """Far from its target, before the chocolate itself is judged."""
    check = _check(6000)
    assert 30 < _told(check, plate_mc=MELTED_MC, most_s=100) < 80
