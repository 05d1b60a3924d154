"""What readings and contacts say of each other, at the edge: one mC, one second, one pass.

100 W of heater, 15 W/K from plate to chocolate. What the balance says is said by the test.
"""

from fw_fakes import MISSING, bench
from rigfw.balance import AHEAD, BEHIND, FINE
from rigfw.witness import AHEAD_ONLY, ALL, NOTHING, StallCheck, SwitchCheck, Witness

NOW_MC = 40000
HOT_MC = NOW_MC + 251  # a plate with heat in it
HEATED_MC = 3450  # by 60 W that just began


class _Balance:
    """Says what the test says; counts what it was asked."""

    def __init__(self):
        self.verdict = FINE
        self.seconds = self.renewals = 0
        self.mass_g = None

    def begin(self, mass_g):
        """Kept."""
        self.mass_g = mass_g

    def renew(self):
        """Counted."""
        self.renewals += 1

    def second(self, *_figures):
        """The verdict."""
        self.seconds += 1
        return self.verdict


def _witness(is_melting=False):
    witness = Witness(bench())
    witness._balance = _Balance()
    witness._long = _Balance()
    witness.begin(1000)
    witness.in_melt(is_melting)
    return witness


def _second(
    witness, verdict=FINE, product_mc=NOW_MC, plate_mc=NOW_MC, how_much=ALL, heat_mw=0, may_melt=0
):
    """(doubt, unasked, is_dead) of one second."""
    witness._balance.verdict = verdict
    witness.second(heat_mw, 0, product_mc, plate_mc, how_much, 100, may_melt)
    return witness.doubt, witness.unasked, witness.is_dead


DOUBT, UNASKED, DEAD, NOTHING_SAID = (1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 0, 0)


def test_a_reading_behind_a_plate_with_heat_is_in_doubt():
    """More than 0.25 K hotter, or not measured; once, and the balance begins anew."""
    for plate_mc in (HOT_MC, MISSING):
        witness = _witness()
        assert _second(witness, BEHIND, plate_mc=plate_mc) == DOUBT
        assert witness._balance.renewals == 1
        assert _second(witness, FINE, plate_mc=plate_mc) == NOTHING_SAID
    assert _second(_witness(), BEHIND, plate_mc=HOT_MC - 1) == NOTHING_SAID


def test_behind_over_the_longer_time_is_a_doubt_as_well():
    """A heavy bowl. What runs ahead over it says nothing; the shorter time's word goes first."""
    for verdict, longer, expected in (
        (FINE, BEHIND, DOUBT),
        (BEHIND, AHEAD, DOUBT),
        (FINE, AHEAD, NOTHING_SAID),
        (AHEAD, BEHIND, UNASKED),
        (FINE, FINE, NOTHING_SAID),
    ):
        witness = _witness()
        witness._long.verdict = longer
        assert _second(witness, verdict, plate_mc=HOT_MC) == expected, (verdict, longer)
        assert witness._long.seconds == 1
        assert witness._long.renewals == (1 if expected == DOUBT else 0)


def test_the_longer_time_begins_when_neither_loss_nor_melting_explains_what_is_behind():
    """Without a plate probe, and while fat may melt, it is not asked and begins anew."""
    for plate_mc, may_melt in ((MISSING, 0), (HOT_MC, 1)):
        witness = _witness()
        witness._long.verdict = BEHIND
        assert _second(witness, plate_mc=plate_mc, may_melt=may_melt) == NOTHING_SAID
        assert (witness._long.seconds, witness._long.renewals) == (0, 1)


def test_the_longer_time_begins_anew_as_the_shorter_does():
    """Where nothing can be judged, after hands, in a new batch with its mass."""
    witness = _witness()
    _second(witness, how_much=NOTHING)
    assert (witness._long.seconds, witness._long.renewals) == (0, 1)
    witness.after_pause()
    assert witness._long.renewals == 2
    witness.begin(1500)
    assert witness._long.mass_g == 1500


def test_the_longer_time_is_six_minutes():
    """Slots of 30 s; of 10 s in the shorter."""
    witness = Witness(bench())
    assert (witness._balance._slot_s, witness._long._slot_s) == (10, 30)


def test_behind_is_judged_only_where_all_can_be():
    """Cooling, a fan: no doubt, no dead heater."""
    witness = _warm(1000)
    assert _second(witness, BEHIND, plate_mc=HOT_MC, how_much=AHEAD_ONLY) == NOTHING_SAID
    assert _second(witness, BEHIND, how_much=AHEAD_ONLY, heat_mw=100000) == NOTHING_SAID


def test_where_nothing_can_be_judged_the_balance_begins_anew():
    """It is not asked at all then."""
    witness = _witness()
    assert _second(witness, AHEAD, plate_mc=HOT_MC, how_much=NOTHING) == NOTHING_SAID
    assert (witness._balance.seconds, witness._balance.renewals) == (0, 1)
    _second(witness, how_much=AHEAD_ONLY)
    assert (witness._balance.seconds, witness._balance.renewals) == (1, 1)


def _unseen_s(witness, most_s=200, lost_mw=0, product_mc=NOW_MC, how_much=ALL, heat_mw=60000):
    """The second in which 60 W, 51 at the least, are missed; 0 for never. No plate is measured."""
    witness._balance.verdict = FINE
    for second in range(1, most_s + 1):
        flickering_mc = product_mc + second % 2
        witness.second(heat_mw, lost_mw, flickering_mc, MISSING, how_much, 100, 0)
        if witness.doubt:
            return second
    return 0


def _at_60_w(is_melting=False):
    witness = _warm(600)
    witness.in_melt(is_melting)
    return witness


def test_heat_of_1_k_that_no_rise_shows_is_in_doubt_where_no_plate_is_measured():
    """1590 J of the kilogram and 2000 J in a plate that is 4 K hotter: 3590 J at 51 W."""
    assert _unseen_s(_at_60_w()) == 71
    assert _unseen_s(_at_60_w(), lost_mw=10000) == 103  # 16 W at the most are lost of 51
    assert _unseen_s(_at_60_w(), lost_mw=250) == 71  # 71 * 50.6 J
    assert _unseen_s(_at_60_w(), lost_mw=32000) == 0
    assert _unseen_s(_at_60_w(), how_much=AHEAD_ONLY) == 0
    assert _unseen_s(_at_60_w(), how_much=NOTHING) == 0
    assert _unseen_s(_at_60_w(True)) == 0
    witness = _at_60_w()
    for _ in range(200):
        assert _second(witness, plate_mc=NOW_MC + 4000, heat_mw=60000) == NOTHING_SAID


def test_just_the_heat_of_1_k_may_still_be_on_its_way():
    """1590 J of the kilogram and not a mJ more, with a plate that holds nothing over it."""
    for unseen_mj, expected in ((1590000, NOTHING_SAID), (1590001, DOUBT)):
        witness = _witness()
        witness._unseen_mj = unseen_mj
        assert _second(witness, plate_mc=MISSING) == expected


def test_it_is_500_mc_while_seed_is_due_after_a_doubt_and_after_a_press():
    """795 J and 2000 J: 55 s. In the seed step nothing blurs it."""
    seeding = _at_60_w()
    seeding.is_seeding = True
    assert _unseen_s(seeding, how_much=NOTHING) == 55
    doubted = _at_60_w()
    assert _second(doubted, BEHIND, plate_mc=HOT_MC, heat_mw=60000) == DOUBT
    assert _unseen_s(doubted) == 55
    gentle = _at_60_w()
    gentle.answered(NOW_MC, True)
    assert _unseen_s(gentle) == 55
    first = _at_60_w()
    assert (_unseen_s(first), first.needs_press) == (71, 0)
    assert (_unseen_s(first), first.needs_press) == (55, 1)
    long_ago = _at_60_w()
    assert _second(long_ago, BEHIND, plate_mc=HOT_MC, heat_mw=60000) == DOUBT
    for count in range(544):
        _second(long_ago, plate_mc=HOT_MC + count % 2, heat_mw=60000)
    assert _unseen_s(long_ago) == 55
    long_ago = _at_60_w()
    assert _second(long_ago, BEHIND, plate_mc=HOT_MC, heat_mw=60000) == DOUBT
    for count in range(545):
        _second(long_ago, plate_mc=HOT_MC + count % 2, heat_mw=60000)
    assert _unseen_s(long_ago) == 71


def test_what_a_rise_of_400_mc_shows_was_seen():
    """636 J of 4226; 399 mC show nothing, and each rise counts once, from the lowest since."""
    for rise_mc, expected in ((398, 71), (399, 83)):  # the reading flickers by one more
        witness = _at_60_w()
        assert _unseen_s(witness, 20) == 0
        assert _unseen_s(witness, product_mc=NOW_MC + rise_mc) == expected - 20, rise_mc
    fallen = _at_60_w()
    assert _unseen_s(fallen, 10) == 0
    assert _unseen_s(fallen, 10, product_mc=NOW_MC - 1000) == 0
    assert _unseen_s(fallen, product_mc=NOW_MC - 601) == 63  # as 83, 20 s of them gone
    risen = _at_60_w()
    assert _unseen_s(risen, 2, product_mc=NOW_MC) == 0
    assert _unseen_s(risen, product_mc=NOW_MC + 3000) == 72  # never less than nothing


def test_a_batch_and_a_measured_plate_begin_it_anew():
    """70 s of heat, or a lowest reading, from before: forgotten."""
    fresh = _witness()
    fresh.begin(1000)
    expected = _unseen_s(fresh)
    for before_mc in (NOW_MC, NOW_MC - 3000):
        witness = _at_60_w()
        assert _unseen_s(witness, 70, product_mc=before_mc) == 0
        witness.begin(1000)
        assert _unseen_s(witness) == expected
        witness = _at_60_w()
        assert _unseen_s(witness, 70, product_mc=before_mc) == 0
        assert _second(witness, plate_mc=NOW_MC, heat_mw=60000) == NOTHING_SAID
        assert _unseen_s(witness) == 71


def _warm(permille):
    """A witness whose mean heat has come down to exactly this, under a reading that flickers."""
    witness = _witness()
    for part in (1000, permille):
        for count in range(1200):
            _second(witness, heat_mw=100 * part, product_mc=NOW_MC + count % 2)
    return witness


def test_a_cold_plate_under_a_fifth_of_all_heat_is_a_dead_heater():
    """20 W in the mean: dead. 19.9 W: nothing can be said."""
    assert _second(_warm(200), BEHIND, heat_mw=20000) == DEAD
    assert _second(_warm(199), BEHIND, heat_mw=19900) == NOTHING_SAID
    assert _second(_warm(200), BEHIND, plate_mc=HOT_MC - 1, heat_mw=20000) == DEAD
    assert _second(_warm(200), BEHIND, plate_mc=HOT_MC, heat_mw=20000) == DOUBT
    assert _second(_warm(200), FINE, heat_mw=20000) == NOTHING_SAID


def test_what_was_said_holds_for_its_second():
    """The next one is fine again."""
    witness = _warm(1000)
    assert _second(witness, BEHIND, heat_mw=100000) == DEAD
    assert _second(witness, FINE, heat_mw=100000) == NOTHING_SAID


def test_ahead_of_all_heat_above_where_it_was_is_heat_unasked():
    """As warm as before the hands: it comes back. 1 mC warmer: heat. In cooling, too."""
    for how_much in (ALL, AHEAD_ONLY):
        for earlier_mc, expected in ((NOW_MC, NOTHING_SAID), (NOW_MC - 1, UNASKED)):
            witness = _witness()
            witness.earlier_mc = earlier_mc
            plate_mc = NOW_MC + 1
            assert _second(witness, AHEAD, NOW_MC, plate_mc, how_much) == expected
            assert witness._balance.renewals == 0
            assert _second(witness, FINE, NOW_MC, plate_mc, how_much) == NOTHING_SAID
    witness = _witness()
    witness.earlier_mc = NOW_MC - 1
    assert _second(witness, BEHIND) == NOTHING_SAID


def test_ahead_over_a_plate_that_is_no_warmer_was_fed_and_the_balance_begins_anew():
    """A plate as warm as the chocolate, or colder: fed. 1 mC warmer, or not measured: heat."""
    table = (
        (NOW_MC, NOTHING_SAID, 1),
        (NOW_MC - 1000, NOTHING_SAID, 1),
        (NOW_MC + 1, UNASKED, 0),
        (MISSING, UNASKED, 0),
    )
    for plate_mc, expected, renewals in table:
        witness = _witness()
        assert _second(witness, AHEAD, plate_mc=plate_mc) == expected, plate_mc
        assert witness._balance.renewals == renewals


def test_gentle_heat_lasts_over_a_step_until_the_reading_has_risen_by_1_5_k_from_its_lowest():
    """Pressed away at 40; a step begins at 30: 31.499 is not enough, 31.5 is."""
    for product_mc, is_gentle in ((31499, 1), (31500, 0)):
        witness = _witness()
        witness.answered(40000, True)
        witness.begin_step(30000)
        witness.begin_step(35000)
        _second(witness, product_mc=product_mc)
        assert witness.is_gentle == is_gentle


def _doubted(plate_mc, rest_s):
    """After a doubt and so many fine seconds, the last of them in doubt again."""
    witness = _witness()
    assert _second(witness, BEHIND, plate_mc=plate_mc) == DOUBT
    for count in range(rest_s):
        _second(witness, BEHIND if count == rest_s - 1 else FINE, NOW_MC + count % 2, plate_mc)
    return witness


def test_a_second_doubt_within_ten_minutes_needs_a_press_where_no_plate_is_measured():
    """After 599 s it does, after 600 s not; with a plate probe, or the first time, never."""
    assert _doubted(MISSING, 0).needs_press == 0
    assert _doubted(MISSING, 599).needs_press == 1
    assert _doubted(MISSING, 600).needs_press == 0
    assert _doubted(HOT_MC + 10, 599).needs_press == 0


def test_in_doubt_the_batch_returns_when_plate_and_chocolate_agree():
    """Within 1.5 K; without a plate probe at once."""
    witness = _witness()
    witness._rest_mc = 1000
    assert witness.may_return(NOW_MC, NOW_MC + 9000)
    assert _second(witness, BEHIND, plate_mc=HOT_MC) == DOUBT
    assert witness.may_return(NOW_MC, NOW_MC + 1500)
    assert not witness.may_return(NOW_MC, NOW_MC + 1501)
    assert witness.may_return(NOW_MC, MISSING)


def test_a_doubt_is_over_after_ten_minutes():
    """599 s: still; 600 s: it may return at any plate."""
    witness = _witness()
    _second(witness, BEHIND, plate_mc=HOT_MC)
    for count in range(599):
        _second(witness, product_mc=NOW_MC + count % 2, plate_mc=HOT_MC)
    assert not witness.may_return(NOW_MC, NOW_MC + 1501)
    _second(witness, plate_mc=HOT_MC)
    assert witness.may_return(NOW_MC, NOW_MC + 1501)


def _parting(rest_mc=0, is_melting=False):
    """A witness that knows what plate and reading differ by at rest; the reading stays."""
    witness = _witness(is_melting)
    witness.earlier_mc = NOW_MC
    witness.may_part = 1
    witness._rest_mc = rest_mc
    return witness


def _parts_s(witness, gap_mc, most_s=60, heat_mw=0, least_part=100):
    """The second in which a plate that is so much hotter makes a doubt, 0 for none."""
    for second in range(1, most_s + 1):
        plate_mc = MISSING if gap_mc == MISSING else NOW_MC + gap_mc
        witness.second(heat_mw, 0, NOW_MC, plate_mc, NOTHING, least_part, 0)
        if witness.doubt:
            return second
    return 0


def test_a_plate_that_leaves_the_reading_behind_by_600_mc_for_20_s_is_in_doubt():
    """What is taken for their difference at rest grows by 1 mC a second meanwhile."""
    assert _parts_s(_parting(), 620) == 20
    assert _parts_s(_parting(), 619) == 0
    assert _parts_s(_parting(-500), 120) == 20
    witness = _parting()
    assert _parts_s(witness, 1000) == 20
    assert _parts_s(witness, 1000) == 20  # and it is told anew after as long


def test_heat_makes_the_plate_hotter_and_a_tenth_of_that_may_be_wrong():
    """30 W over 15 W/K are 2 K, and 200 mC. What just began counts whole."""
    for mean_mw in (30000, 0):
        for gap_mc, expected in ((2820, 20), (2819, 0)):
            witness = _parting()
            witness._mean_mw, witness._quick_mw = mean_mw, 30000
            assert _parts_s(witness, gap_mc, 21, 30000) == expected


def test_heat_that_ended_counts_by_both_memories():
    """29.531 W of the last minute twice and 0 of the last 20 s: 19.687 W make 1.312 K."""
    for gap_mc, expected in ((2044, 1), (2043, 0)):
        witness = _parting()
        witness._mean_mw = 30000
        assert _parts_s(witness, gap_mc, 1) == 0
        assert witness._apart_s == expected


def test_heat_that_just_began_has_a_memory_of_20_s():
    """60 W from none, over a plate that was 2.3 K hotter before: just so, and just not."""
    assert _parts_s(_parting(), HEATED_MC, heat_mw=60000) == 20
    assert _parts_s(_parting(), HEATED_MC - 10, heat_mw=60000) == 0
    witness = _parting()
    witness._quick_mw = 60000
    witness.begin(1000)
    witness.earlier_mc = NOW_MC
    witness._rest_mc = 0
    assert _parts_s(witness, HEATED_MC, heat_mw=60000) == 20


def _begin_anew(witness):
    """Another batch, at the same reading."""
    witness.begin(1000)
    witness.earlier_mc = NOW_MC


def test_what_they_differ_by_at_rest_is_learned():
    """0.6 K at first and after each begin; 20 mC a second less, to 1 K less than none."""
    for seconds, rest_mc in ((0, 600), (1, 580), (30, 0), (80, -1000), (400, -1000)):
        witness = _parting()
        _begin_anew(witness)
        assert _parts_s(witness, -3000, seconds) == 0
        assert _parts_s(witness, rest_mc + 620) == 20
        _begin_anew(witness)
        assert _parts_s(witness, -3000, seconds) == 0
        assert _parts_s(witness, rest_mc + 619) == 0
    for more_mc, expected in ((600, 20), (599, 0)):  # where it is just as it was, it is less
        witness = _parting()
        assert _parts_s(witness, 0, 1) == 0
        assert _parts_s(witness, more_mc) == expected


def test_while_working_the_reading_must_have_fallen_as_well():
    """By more than 0.25 K in the last minutes: a bowl half poured out is held where it was."""
    for earlier_mc, expected in ((NOW_MC + 251, 20), (NOW_MC + 250, 0)):
        witness = _parting()
        witness.earlier_mc = earlier_mc
        assert _parts_s(witness, 1000, 30, least_part=30) == expected
        assert _parts_s(_parting(), 1000, 30, least_part=100) == 20


def test_a_second_that_agrees_takes_one_off():
    """19 s, one, 2 s: the doubt. Nothing is below none: a good hour does not wait for an hour."""
    witness = _parting()
    assert _parts_s(witness, 1000, 19) == 0
    assert _parts_s(witness, 0, 1) == 0
    assert _parts_s(witness, 1000, 9) == 2
    assert _parts_s(witness, 0, 200) == 0
    assert _parts_s(witness, 1000) == 20


def _risen(rise_mc, gap_mc, heat_mw=0, is_melting=False):
    """(doubt, unasked) of 20 s of a plate so much hotter, over a reading that rose by so much."""
    witness = _parting(0, is_melting)
    witness.earlier_mc = NOW_MC - rise_mc
    witness._mean_mw = witness._quick_mw = heat_mw
    for _ in range(20):
        witness.second(heat_mw, 0, NOW_MC, NOW_MC + gap_mc, NOTHING, 100, 0)
    return witness.doubt, witness.unasked


def test_a_plate_that_leaves_a_rising_reading_has_heat_that_nobody_asked_for():
    """Risen by more than 62 mC, and more than twice what its heat makes: else it is a doubt."""
    assert _risen(63, 620) == (0, 1)
    assert _risen(62, 620) == (1, 0)
    assert _risen(-5000, 3000) == (1, 0)
    # 30 W over 15 W/K are 2 K: twice that, 0.6 K, and what 19 s took for their difference.
    assert _risen(63, 4620, 30000) == (0, 1)
    assert _risen(63, 4619, 30000) == (1, 0)
    assert _risen(63, 619) == (0, 0)


def test_while_blocks_may_lie_in_the_bowl_a_plate_that_leaves_is_no_doubt():
    """They take its heat slowly. Heat that nobody asked for is told all the same."""
    assert _risen(62, 3000, is_melting=True) == (0, 0)
    assert _risen(63, 620, is_melting=True) == (0, 1)


def test_what_a_hot_plate_differs_by_is_forgotten_with_its_step():
    """After a hold with blocks 0.6 K again; from step to step of liquid chocolate it is kept."""
    for is_melting, rest_mc in ((True, 600), (False, -700)):
        witness = _parting(-700, is_melting)
        witness.begin_step(NOW_MC)
        assert witness._rest_mc == rest_mc


def test_hands_begin_the_seconds_of_a_plate_that_leaves_anew():
    """A pause, and another batch; where nothing may part, and where no plate is, nothing does."""
    for anew in (Witness.after_pause, _begin_anew):
        witness = _parting()
        assert _parts_s(witness, 1000, 19) == 0
        anew(witness)
        witness._rest_mc = 0
        assert _parts_s(witness, 1000) == 20
    witness = _parting()
    witness.may_part = 0
    assert _parts_s(witness, 1000) == 0
    witness.may_part = 1
    assert _parts_s(witness, MISSING) == 0
    assert _parts_s(witness, 619) == 0


def test_after_a_doubt_what_they_differed_by_before_bounds_the_way_back():
    """0.6 K more than at rest, and never more than 1.5 K. A press allows as much more, to 1 K."""
    for rest_mc, most_mc in ((0, 600), (-700, -100), (900, 1500), (1000, 1500)):
        witness = _parting(rest_mc)
        witness._doubt(NOW_MC)
        assert witness.may_return(NOW_MC, NOW_MC + most_mc)
        assert not witness.may_return(NOW_MC, NOW_MC + most_mc + 1)
    witness = _parting()  # without a doubt as well, where plate and reading may part
    assert witness.may_return(NOW_MC, NOW_MC + 600)
    assert not witness.may_return(NOW_MC, NOW_MC + 601)
    witness.may_part = 0
    assert witness.may_return(NOW_MC, NOW_MC + 601)
    for before_mc, after_mc in ((0, 600), (400, 1000), (500, 1000)):
        for more_mc, expected in ((620, 20), (619, 0)):
            witness = _parting(before_mc)
            witness.answered(NOW_MC, False)
            assert _parts_s(witness, after_mc + more_mc) == expected


def test_what_needs_a_press_does_not_return_without_one():
    """Not when all agrees, not after an hour; after the press it does."""
    witness = _doubted(MISSING, 599)
    for count in range(3600):
        _second(witness, product_mc=NOW_MC + count % 2)
    assert not witness.may_return(NOW_MC, NOW_MC)
    witness.answered(NOW_MC, False)
    assert witness.may_return(NOW_MC, NOW_MC)
    assert (witness.needs_press, witness.doubt) == (0, 0)


def test_a_doubt_that_was_pressed_away_leaves_little_heat():
    """Within ten minutes of it, or after a great fall; else a press is only a press."""
    for rest_s, is_far_down, expected in (
        (599, False, 1),
        (600, False, 0),
        (600, True, 1),
        (0, False, 1),
    ):
        witness = _witness()
        _second(witness, BEHIND, plate_mc=HOT_MC)
        for count in range(rest_s):
            _second(witness, product_mc=NOW_MC + count % 2, plate_mc=HOT_MC)
        witness.answered(NOW_MC, is_far_down)
        assert witness.is_gentle == expected, (rest_s, is_far_down)
    witness = _witness()
    witness.answered(NOW_MC, False)
    assert witness.is_gentle == 0


def test_a_press_settles_its_doubt():
    """The next press is only a press, and the batch may return."""
    witness = _witness()
    assert _second(witness, BEHIND, plate_mc=HOT_MC) == DOUBT
    witness.answered(NOW_MC, False)
    assert witness.doubt == 0
    assert witness.may_return(NOW_MC, NOW_MC + 9000)
    witness.is_gentle = 0
    witness.answered(NOW_MC, False)
    assert witness.is_gentle == 0


def test_little_heat_until_the_reading_rose_by_one_and_a_half_kelvin():
    """1.499 K: still little. 1.5 K: all of it."""
    witness = _witness()
    witness.answered(NOW_MC, True)
    for product_mc, expected in ((NOW_MC, 1), (NOW_MC + 1499, 1), (NOW_MC + 1500, 0)):
        _second(witness, product_mc=product_mc, plate_mc=product_mc)
        assert witness.is_gentle == expected


def _repeats_s(plates_mc, products_mc=lambda second: NOW_MC, witness=None, most_s=1300):
    """The second in which a repeated reading is in doubt, 0 for none."""
    witness = witness or _witness()
    for second in range(1, most_s + 1):
        if _second(witness, product_mc=products_mc(second), plate_mc=plates_mc(second)) == DOUBT:
            assert witness.needs_press == 1
            return second
    return 0


def _down(by_mc):
    return lambda second: NOW_MC - by_mc if second == 150 else NOW_MC


def test_a_reading_that_repeats_for_300_s_while_the_plate_moves_by_1_k_is_stuck():
    """Up or down by 1.0 K: in doubt in the 300th second, and a press is needed. 0.999 K: no."""
    for by_mc in (1000, -1000):
        assert _repeats_s(_down(by_mc)) == 300
    for by_mc in (999, -999):
        assert _repeats_s(_down(by_mc)) == 0


def test_a_plate_that_just_moved_has_not_shown_yet():
    """120 s must pass from the first second in which it was 1 K away."""
    for moved_at, expected in ((150, 300), (181, 300), (182, 301), (400, 519)):
        moves = lambda second, at=moved_at: NOW_MC - 1000 if second >= at else NOW_MC  # noqa: E731
        assert _repeats_s(moves) == expected, moved_at


def _first(seconds, before_mc):
    return lambda second: before_mc if second < seconds else NOW_MC


def test_a_reading_that_flickers_is_not_stuck():
    """Another value in second 150: 300 s from there, and only what the plate did since counts."""

    def flickers(second):
        return NOW_MC + 62 if second >= 150 else NOW_MC

    assert _repeats_s(lambda second: NOW_MC - second % 2 * 1000, flickers) == 449
    for by_mc in (1000, -1000):
        before_mc = NOW_MC + by_mc
        assert _repeats_s(_first(150, before_mc), flickers) == 0


def test_without_a_plate_nothing_says_that_a_reading_is_stuck():
    """Without its probe: never. A second without one begins anew."""
    assert _repeats_s(lambda second: MISSING) == 0
    assert _repeats_s(lambda second: MISSING if second == 100 else NOW_MC) == 0
    assert _repeats_s(lambda second: MISSING if second == 1 else NOW_MC) == 0
    swinging = [NOW_MC, NOW_MC - 1000]
    gap_at_100 = lambda second: MISSING if second == 100 else swinging[second % 2]  # noqa: E731
    assert _repeats_s(gap_at_100) == 400


def test_a_stuck_reading_is_told_once_in_300_s():
    """300 s more to the next."""
    witness = _witness()

    def swinging(second):
        return NOW_MC - second % 2 * 1000

    for _ in range(2):
        assert _repeats_s(swinging, witness=witness) == 300


def test_hands_and_additions_begin_a_repeated_reading_anew():
    """299 s, then 300 s."""
    for anew in (lambda one: one.renew(), lambda one: one.after_pause()):
        witness = _witness()
        swinging = _down(1000)
        assert _repeats_s(swinging, witness=witness, most_s=299) == 0
        anew(witness)
        assert _repeats_s(swinging, witness=witness) == 300
        anew(witness)
        assert _repeats_s(swinging, witness=witness, most_s=299) == 0
        anew(witness)
        assert _repeats_s(lambda second: NOW_MC, witness=witness) == 0  # what moved was before


def _ahead_s(witness, gap_mc, heat_mw=0, most_s=200, **at):
    """(what, the second) first said with a plate so far above the chocolate."""
    product_mc = at.get("product_mc", NOW_MC)
    for second in range(1, most_s + 1):
        said = _second(
            witness, product_mc=product_mc, plate_mc=product_mc + gap_mc, heat_mw=heat_mw,
            how_much=at.get("how_much", ALL),
        )  # fmt: skip
        if said != NOTHING_SAID:
            return said, second
    return NOTHING_SAID, 0


def test_a_plate_far_above_what_its_heat_makes_is_heat_unasked_after_20_s():
    """60 W are 4 K over 15 W/K; twice that, a bowl of thick chocolate, and 2 K: 10 K."""
    assert _ahead_s(_warm(600), 10000, 60000) == (NOTHING_SAID, 0)
    assert _ahead_s(_warm(600), 10001, 60000) == (UNASKED, 20)


def test_over_blocks_it_may_be_five_times_what_its_heat_makes():
    """60 W: 20 K and 2 K. Below 36 degrees it is not judged in melt and rest, elsewhere it is."""
    for gap_mc, product_mc, is_melting, expected in (
        (22000, 40000, True, (NOTHING_SAID, 0)),
        (22001, 40000, True, (UNASKED, 20)),
        (22001, 36000, True, (UNASKED, 20)),
        (22001, 35999, True, (NOTHING_SAID, 0)),
        (10001, 1, False, (UNASKED, 20)),
        (10001, 0, False, (UNASKED, 20)),
    ):
        witness = _warm(600)
        witness.in_melt(is_melting)
        assert _ahead_s(witness, 0, 60000, 1, product_mc=product_mc) == (NOTHING_SAID, 0)
        assert _ahead_s(witness, gap_mc, 60000, product_mc=product_mc) == expected


def test_a_plate_ahead_is_judged_while_cooling_too_but_not_in_a_blur():
    """Too much heat is too much under a fan."""
    assert _ahead_s(_warm(600), 10001, 60000, how_much=AHEAD_ONLY) == (UNASKED, 20)
    assert _ahead_s(_warm(600), 10001, 60000, how_much=NOTHING) == (NOTHING_SAID, 0)


def test_without_heat_for_60_s_plate_and_chocolate_agree_within_1500_mc():
    """2 K before, 1.5 K from the 60th second on: told in the 79th, 20 s of it."""
    assert _ahead_s(_witness(), 1500) == (NOTHING_SAID, 0)
    assert _ahead_s(_witness(), 1501) == (UNASKED, 79)
    assert _ahead_s(_witness(), 2000) == (UNASKED, 79)
    assert _ahead_s(_witness(), 2001) == (UNASKED, 20)


def test_each_pulse_of_heat_begins_those_60_s_anew():
    """59 s without, one with a little: 79 s from there."""
    witness = _witness()
    assert _ahead_s(witness, 1501, most_s=59) == (NOTHING_SAID, 0)
    assert _ahead_s(witness, 1501, 1, most_s=1) == (NOTHING_SAID, 0)
    assert _ahead_s(witness, 1501) == (UNASKED, 79)


def _idle(off_s, low_mc, rise_mc, gap_mc=1001, how_much=ALL, heat_mw=0, earlier_mc=MISSING):
    """What is said when the plate, without heat for so long, rises to gap_mc over NOW_MC."""
    witness = _warm(100)
    witness.earlier_mc = earlier_mc
    high_mc = NOW_MC + gap_mc
    for second in range(1, off_s):
        plate_mc = high_mc - rise_mc if second >= low_mc else high_mc
        _second(witness, plate_mc=plate_mc, heat_mw=0)
    return _second(witness, plate_mc=high_mc, how_much=how_much, heat_mw=heat_mw)


def test_a_plate_that_rises_by_400_mc_without_heat_is_heated_by_somebody():
    """From the 16th second without heat on; more than 1 K over its chocolate; not in a blur."""
    assert _idle(18, 16, 400) == UNASKED
    assert _idle(18, 16, 399) == NOTHING_SAID
    assert _idle(17, 16, 400) == UNASKED
    assert _idle(16, 15, 400) == UNASKED
    assert _idle(15, 14, 400) == NOTHING_SAID
    assert _idle(18, 16, 400, gap_mc=1000) == NOTHING_SAID
    assert _idle(18, 16, 400, how_much=AHEAD_ONLY) == UNASKED
    assert _idle(18, 16, 400, how_much=NOTHING) == NOTHING_SAID
    assert _idle(18, 16, 400, heat_mw=1000) == NOTHING_SAID


def test_a_rise_without_heat_counts_within_30_s_only():
    """At every 30th second the lowest plate begins anew: a warm room is slower than that."""
    assert _idle(30, 16, 400) == NOTHING_SAID
    assert _idle(29, 16, 400) == UNASKED
    assert _idle(59, 30, 400) == UNASKED
    assert _idle(60, 30, 400) == NOTHING_SAID


def test_a_plate_that_comes_up_to_what_its_chocolate_just_was_is_not_heated():
    """A fan had cooled it, and a scraper took the reading down: 1 K over the warmest counts."""
    assert _idle(18, 16, 400, earlier_mc=NOW_MC + 1) == NOTHING_SAID
    assert _idle(18, 16, 400, earlier_mc=NOW_MC) == UNASKED
    assert _idle(18, 16, 400, gap_mc=3001, earlier_mc=NOW_MC + 2000) == UNASKED
    assert _idle(18, 16, 400, gap_mc=3000, earlier_mc=NOW_MC + 2000) == NOTHING_SAID


def test_a_plate_that_nobody_measures_does_not_rise():
    """MISSING is colder than all."""
    witness = _warm(100)
    for _second_off in range(40):
        assert _second(witness, plate_mc=MISSING) == NOTHING_SAID


def test_a_batch_begins_without_the_lowest_plate():
    """Nothing off yet: the plate of the batch before is no low."""
    witness = _warm(100)
    for _second_off in range(20):
        _second(witness, plate_mc=NOW_MC)
    witness.begin(1000)
    assert _second(witness, plate_mc=NOW_MC + 1400) == NOTHING_SAID


def test_the_mean_heat_reaches_back_a_minute():
    """Off after 60 W it falls by a 64th each second, below 31.5 W in the 41st: 4.2 K, and 2 K."""
    assert _ahead_s(_warm(600), 6200) == (UNASKED, 60)


def test_ahead_counts_20_s_in_a_row():
    """19 s, one that is not, 19 s: nothing. The twentieth tells, and each that follows."""
    witness = _warm(600)
    assert _ahead_s(witness, 10001, 60000, 19) == (NOTHING_SAID, 0)
    assert _ahead_s(witness, 10000, 60000, 1) == (NOTHING_SAID, 0)
    assert _ahead_s(witness, 10001, 60000, 19) == (NOTHING_SAID, 0)
    assert _ahead_s(witness, 10001, 60000) == (UNASKED, 1)
    assert _ahead_s(witness, 10001, 60000) == (UNASKED, 1)


def _ahead_after(fallen_mc):
    """The second in which it is said when plate and reading both fell by so much at once."""
    witness = _warm(600)
    assert _ahead_s(witness, 10000, 60000, 1) == (NOTHING_SAID, 0)
    return _ahead_s(witness, 10001, 60000, product_mc=NOW_MC - fallen_mc - 1)[1]


def test_a_plate_that_cools_gets_no_heat():
    """Down by 0.125 K since all was fine is its noise; by 0.126 K the second does not count."""
    assert _ahead_after(125) == 20
    assert _ahead_after(126) == 21


def test_a_plate_that_goes_on_cooling_gets_no_heat():
    """By 0.126 K a second: never. It is the reading that fell."""
    witness = _warm(600)
    assert _ahead_s(witness, 10000, 60000, 1) == (NOTHING_SAID, 0)
    for count in range(1, 100):
        product_mc = NOW_MC - 126 * count
        plate_mc = product_mc + 10001
        assert _second(witness, FINE, product_mc, plate_mc, ALL, 60000) == NOTHING_SAID


def test_a_reading_that_stays_under_a_hot_plate_is_in_doubt():
    """No more than half a step of the plate's probe above what it was minutes ago: 0.062 K."""
    for earlier_mc, expected in ((NOW_MC - 62, DOUBT), (NOW_MC - 63, UNASKED)):
        witness = _warm(600)
        witness.earlier_mc = earlier_mc
        assert _ahead_s(witness, 10001, 60000) == (expected, 20)
    witness = _warm(600)
    witness.earlier_mc = NOW_MC
    assert _ahead_s(witness, 10001, 60000) == (DOUBT, 20)
    assert _ahead_s(witness, 10001, 60000) == (DOUBT, 20)


def test_after_a_pause_the_mean_heat_is_none():
    """And what was ahead before it does not count: 19 s, a pause, 20 s over 2 K."""
    witness = _warm(600)
    assert _ahead_s(witness, 10001, 60000, 19) == (NOTHING_SAID, 0)
    renewals = witness._balance.renewals
    witness.after_pause()
    assert witness._balance.renewals == renewals + 1
    assert _ahead_s(witness, 2001) == (UNASKED, 20)


def test_a_batch_begins_without_what_was_said():
    """A doubt, one that needs a press, a press, heat unasked, a dead heater: none is left."""
    doubtful = _witness()
    assert _second(doubtful, BEHIND, plate_mc=HOT_MC) == DOUBT
    pressed = _doubted(MISSING, 599)
    pressed.answered(NOW_MC, True)
    unasked = _witness()
    assert _second(unasked, AHEAD, plate_mc=HOT_MC) == UNASKED
    dead = _warm(1000)
    assert _second(dead, BEHIND, heat_mw=100000) == DEAD
    for witness in (doubtful, _doubted(MISSING, 599), pressed, unasked, dead):
        witness.earlier_mc = NOW_MC
        witness.begin(1500)
        assert witness._balance.mass_g == 1500
        assert (witness.doubt, witness.unasked, witness.is_dead) == NOTHING_SAID
        assert (witness.needs_press, witness.is_gentle) == (0, 0)
        assert witness.earlier_mc == MISSING
        assert witness.may_return(NOW_MC, NOW_MC + 9000)


def test_a_batch_begins_its_seconds_anew():
    """299 s of one reading, 19 s ahead, 59 s without heat, a mean heat, a hot plate: forgotten."""
    witness = _witness()
    assert _repeats_s(_down(1000), witness=witness, most_s=299) == 0
    witness.begin(1000)
    assert _repeats_s(_down(1000), witness=witness) == 300
    witness = _warm(600)
    assert _ahead_s(witness, 10001, 60000, 19) == (NOTHING_SAID, 0)
    witness.begin(1000)
    assert _ahead_s(witness, 2001) == (UNASKED, 20)
    witness = _witness()
    assert _ahead_s(witness, 1501, most_s=59) == (NOTHING_SAID, 0)
    witness.begin(1000)
    assert _ahead_s(witness, 1501) == (UNASKED, 79)
    witness = _warm(600)
    assert _ahead_s(witness, 10000, 60000, 1) == (NOTHING_SAID, 0)
    witness.begin(1000)
    assert _ahead_s(witness, 2001) == (UNASKED, 20)


def test_a_node_that_lives_for_500_ms_while_off_is_shorted():
    """499 ms: not yet; in a row; and never while heat is on."""
    check = SwitchCheck()
    assert not check.is_shorted(0, 1, 499)
    assert check.is_shorted(0, 1, 1)
    assert not check.is_shorted(0, 0, 250)
    assert not check.is_shorted(0, 1, 499)
    assert not check.is_shorted(1, 1, 5000)
    assert not check.is_shorted(0, 1, 499)


def test_a_stirrer_driven_for_3000_ms_must_turn():
    """2999 ms: not yet; from there as soon as it stands still, until it is no longer driven."""
    check = StallCheck()
    assert not check.is_stalled(1000, 0, 2999)
    assert check.is_stalled(1000, 0, 1)
    assert not check.is_stalled(1000, 1, 250)
    assert check.is_stalled(1000, 0, 250)
    assert not check.is_stalled(0, 0, 250)
    assert not check.is_stalled(1, 0, 2999)
    assert check.is_stalled(1, 0, 1)
