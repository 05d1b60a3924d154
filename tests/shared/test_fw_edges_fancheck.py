"""A fan that takes nothing, at the edge: the heat it must have taken, to one mC and one second.

Plate and 1750 g of chocolate take 4000 J/K. 20 K over the room still air takes 20 W and a full fan
80 W, 20 W of them at the least: 4 K by the description are 16000 J, 160 s of 100 W, and 6400 J or
1.6 K are the least that must show.
"""

from fw_fakes import MISSING, bench
from rigfw.fancheck import FanCheck

FROM_MC = 45000
OVER_MC = 20000


def _check():
    check = FanCheck(bench())
    check.begin(1750)
    return check


def _told(check, fallen_mc, fan_permille=1000, over_mc=OVER_MC, from_mc=FROM_MC, most_s=400):
    """The second in which the fan is called dead, 0 for none; it falls by so much at once, when
    the fan was on for the minute in which nothing is judged."""
    assert not check.second(from_mc, from_mc - over_mc, 0)
    for _ in range(59):
        assert not check.second(from_mc, from_mc - over_mc, fan_permille)
    now_mc = from_mc - fallen_mc
    for second in range(1, most_s + 1):
        if check.second(now_mc, now_mc - over_mc, fan_permille):
            return second
    return 0


def test_a_quarter_of_the_described_fan_and_still_air_must_show():
    """1.6 K down after 160 s will do, 1.599 K will not."""
    assert _told(_check(), 1600, most_s=160) == 0
    assert _told(_check(), 1599) == 160


def test_it_is_judged_once_4_k_are_due_by_the_description():
    """At 100 W not before 160 s; half a fan, 60 W in all, needs 267 s."""
    assert _told(_check(), 0, most_s=159) == 0
    assert _told(_check(), 0) == 160
    assert _told(_check(), 0, 500) == 267


def test_half_a_fan_must_take_half_as_much():
    """30 W for 267 s are 8010 J: 2.002 K."""
    assert _told(_check(), 2002, 500, most_s=267) == 0
    assert _told(_check(), 2001, 500) == 267


def test_a_fan_below_half_speed_is_not_judged():
    """499 permille: never. 500: judged."""
    assert _told(_check(), 0, 499) == 0
    assert _told(_check(), 0, 500) > 0


def test_chocolate_that_may_set_is_not_judged():
    """Crystals give heat off below 36 degC: at 35.999 never, at 36.0 as anywhere."""
    assert _told(_check(), 0, from_mc=35999) == 0
    assert _told(_check(), 0, from_mc=36000) == 160


def test_without_the_room_nothing_is_judged():
    """No room probe: never."""
    check = _check()
    for _ in range(400):
        assert not check.second(FROM_MC, MISSING, 1000)


def test_a_room_as_warm_as_the_chocolate_takes_nothing():
    """Nor one that is warmer: 300 s of a fan that cannot cool are no fault of it."""
    for over_mc in (0, -20000):
        assert _told(_check(), 0, over_mc=over_mc) == 0


def test_it_is_said_once_in_a_step_and_again_in_the_next():
    """Dead at 160 s, then silence; the next step and the next batch may say it again."""
    check = _check()
    assert _told(check, 0) == 160
    assert _told(check, 0) == 0
    check.begin_step()
    assert _told(check, 0) == 160
    check.begin(1750)
    assert _told(check, 0) == 160


def test_each_judgement_begins_where_the_last_ended():
    """4 K down and judged fine; what the next 160 s must show is theirs: 1.6 K again."""
    for more_mc, expected in ((1600, 0), (1599, 160)):
        check = _check()
        assert _told(check, 4000, most_s=160) == 0
        now_mc = FROM_MC - 4000 - more_mc
        seen = [check.second(now_mc, now_mc - OVER_MC, 1000) for _ in range(160)]
        assert (seen.index(True) + 1 if True in seen else 0) == expected


def test_what_was_before_hands_or_the_fan_says_nothing():
    """Renewed after 159 s at a reading 3 K down: it counts from there."""
    check = _check()
    assert _told(check, 0, most_s=159) == 0
    check.renew(FROM_MC - 3000)
    assert not check.second(FROM_MC - 3000, FROM_MC - 3000 - OVER_MC, 1000)
    for _ in range(158):
        assert not check.second(FROM_MC - 3000, FROM_MC - 3000 - OVER_MC, 1000)
    assert check.second(FROM_MC - 3000, FROM_MC - 3000 - OVER_MC, 1000)


def test_a_step_begins_at_its_first_reading():
    """A step that begins with the fan on is judged from its 60th second: what a probe with a crust
    on it, over a plate that is still hot, did before says nothing."""
    for fallen_mc, expected in ((1600, False), (1599, True)):
        check = _check()
        check.begin_step()
        for count in range(59):
            assert not check.second(FROM_MC + 900 * (count < 58), FROM_MC - OVER_MC, 1000)
        now_mc = FROM_MC - fallen_mc
        for _ in range(160):
            is_dead = check.second(now_mc, now_mc - OVER_MC, 1000)
        assert is_dead == expected


def test_each_step_has_a_minute_of_its_own_in_which_nothing_is_judged():
    """The fan had run for 90 s; the step that begins then is told in its 219th second, 160 after
    its 60th, not in its 160th."""
    for begins in (FanCheck.begin_step, lambda check: check.begin(1750)):
        check = _check()
        for _ in range(90):
            assert not check.second(FROM_MC, FROM_MC - OVER_MC, 1000)
        begins(check)
        seen = [check.second(FROM_MC, FROM_MC - OVER_MC, 1000) for _ in range(219)]
        assert seen == [False] * 218 + [True]


def test_a_batch_counts_with_its_own_mass():
    """3.75 kg and the plate take 8000 J/K: 320 s."""
    check = FanCheck(bench())
    check.begin(3750)
    assert _told(check, 0) == 320


def test_small_losses_add_up():
    """0.99 W from 22 J/K: 4 K are due after 89 s, and no part of a joule is lost on the way."""
    for fallen_mc, expected in ((4000, 0), (3999, 89)):
        check = FanCheck(bench(plate_j_per_k=20, loss_mw_per_k=990, fan_loss_mw_per_k=0))
        check.begin(1)
        assert _told(check, 0, over_mc=1000, most_s=1) == 0  # leaves 0.99 J, which do not count
        assert _told(check, fallen_mc, over_mc=1000, most_s=89) == expected
