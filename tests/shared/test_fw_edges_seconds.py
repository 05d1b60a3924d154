"""What is looked at once a second: who is asked, with what figures, and what follows."""

from fw_fakes import MISSING, bench
from rigfw.seconds import HEAT_UNASKED, NO_RISE, Seconds
from rigfw.witness import AHEAD_ONLY, ALL, NOTHING

HEATING = ("melt", "rest", "rewarm", "work")
NOW_MC = 40000


class _Witness:
    """Says what the test says and keeps what it was asked."""

    def __init__(self):
        self.doubt = self.unasked = self.is_dead = self.is_gentle = 0
        self.asked = self.melting = self.mass_g = self.step_from_mc = None
        self.renewals = self.pauses = self.may_part = 0

    def begin(self, mass_g):
        """Kept."""
        self.mass_g = mass_g

    def begin_step(self, product_mc):
        """Kept."""
        self.step_from_mc = product_mc

    def in_melt(self, is_melting):
        """Kept."""
        self.melting = is_melting

    def renew(self):
        """Counted."""
        self.renewals += 1

    def after_pause(self):
        """Counted."""
        self.pauses += 1

    def second(self, heat_mw, lost_mw, product_mc, plate_mc, how_much, least_part, may_melt):
        """Kept."""
        self.asked = {
            "heat_mw": heat_mw,
            "lost_mw": lost_mw,
            "product_mc": product_mc,
            "plate_mc": plate_mc,
            "how_much": how_much,
            "least_part": least_part,
            "may_melt": bool(may_melt),
        }


class _Locks:
    """The interlocks, as far as they are asked; `paused` has what was before each pause."""

    def __init__(self):
        self.product_mc = NOW_MC
        self.plate_mc = MISSING
        self.withhold_code = self.addition_ms = 0
        self.blurred = self.handled = False
        self.highest = NOW_MC
        self.recent = self
        self.paused = []
        self.doubts = 0

    def known_plate_mc(self):
        """The plate."""
        return self.plate_mc

    def is_blurred(self):
        """As the test says."""
        return self.blurred

    def is_handled(self):
        """As the test says."""
        return self.handled

    def highest_mc(self):
        """The warmest of the last minutes."""
        return self.highest

    def pause(self, before_mc):
        """Kept."""
        self.paused.append(before_mc)

    def doubt(self):
        """Counted."""
        self.doubts += 1


def _seconds(mass_g=1750, **changes):
    seconds = Seconds(bench(**changes))
    seconds.witness = _Witness()
    seconds.begin(NOW_MC, mass_g)
    seconds.begin_step(NOW_MC)
    return seconds


def _judge(seconds, locks, kind="melt", **at):
    """The code of one second, without heat, at the target, unless told so."""
    return seconds.judge(
        locks, at.get("permille", 0), at.get("room_mc", 21000), at.get("target_mc", NOW_MC),
        kind, at.get("fan_permille", 0),
    )  # fmt: skip


def _asked(kind="melt", product_mc=NOW_MC, blurred=False, plate_mc=MISSING, **at):
    """What the witness is asked in one second."""
    seconds, locks = _seconds(), _Locks()
    seconds.begin_step(product_mc)
    locks.product_mc, locks.plate_mc, locks.blurred = product_mc, plate_mc, blurred
    _judge(seconds, locks, kind, **at)
    return seconds.witness.asked


def _paused(kind, fallen_mc, addition_ms=0, withheld=0):
    seconds, locks = _seconds(), _Locks()
    locks.product_mc -= fallen_mc
    locks.addition_ms, locks.withhold_code = addition_ms, withheld
    _judge(seconds, locks, kind)
    return locks.paused


def test_a_fall_of_more_than_3_k_while_heating_is_a_pause():
    """3.0 K is none; 3.001 K is one, and it ends near where the chocolate was before."""
    for kind in HEATING:
        assert _paused(kind, 3000) == []
        assert _paused(kind, 3001) == [NOW_MC]


def test_cooling_may_fall_and_seeding_by_6_k():
    """No cold handful takes it down by 6.001 K from the warmest of the last minutes."""
    assert _paused("cool", 9000) == []
    assert _paused("seed", 6000) == []
    assert _paused("seed", 6001) == [NOW_MC]
    assert _paused("seed", 6001, addition_ms=1) == [NOW_MC]
    for highest_mc, expected in ((NOW_MC + 3000, []), (NOW_MC - 1, [])):
        seconds, locks = _seconds(), _Locks()
        locks.highest, locks.product_mc = highest_mc, NOW_MC - 6000
        _judge(seconds, locks, "seed")
        assert locks.paused == expected, highest_mc


def test_plate_and_reading_may_part_where_bowls_are_held_and_nobody_handles_them():
    """In rest, rewarm and work, with the fan or without; what was fed warm does not hide it. In
    rest not after a dip of more than 0.4 K: cold pieces may lie in the bowl for 15 minutes."""
    for kind, handled, fan_permille, expected in (
        ("rewarm", False, 0, 1), ("work", False, 0, 1), ("work", True, 0, 0),
        ("work", False, 1, 1), ("melt", False, 0, 0), ("rest", False, 0, 1),
        ("rest", True, 0, 0), ("cool", False, 0, 0), ("seed", False, 0, 0),
    ):  # fmt: skip
        seconds, locks = _seconds(), _Locks()
        locks.blurred, locks.handled = True, handled
        _judge(seconds, locks, kind, fan_permille=fan_permille)
        assert bool(seconds.witness.may_part) == bool(expected), kind


def test_cold_pieces_keep_a_rest_from_being_judged_for_15_minutes():
    """A dip by 401 mC, then 901 s; in a work step they do not."""
    for kind, dip_mc, seconds_s, expected in (
        ("rest", 400, 1, 1), ("rest", 401, 1, 0), ("rest", 401, 900, 0), ("rest", 401, 901, 1),
        ("work", 401, 1, 1),
    ):  # fmt: skip
        seconds, locks = _seconds(), _Locks()
        locks.product_mc = NOW_MC - dip_mc
        _judge(seconds, locks, kind)
        locks.product_mc = NOW_MC
        for _ in range(seconds_s):
            _judge(seconds, locks, kind)
        assert bool(seconds.witness.may_part) == bool(expected), (kind, dip_mc, seconds_s)


def test_only_a_fall_of_the_last_minutes_is_one_of_cold_pieces():
    """A landing from above, a draught: slower. By 400 mC from the warmest of three minutes a rest
    is judged, by 401 not, whatever it had when the step began; nor what was before the step."""
    for lately_mc, product_mc, expected in (
        (NOW_MC - 500, NOW_MC - 900, 1), (NOW_MC - 500, NOW_MC - 901, 0),
        (NOW_MC + 5000, NOW_MC - 400, 1), (NOW_MC + 5000, NOW_MC - 401, 0),
    ):  # fmt: skip
        seconds, locks = _seconds(), _Locks()
        locks.highest, locks.product_mc = lately_mc, product_mc
        for _ in range(2):
            _judge(seconds, locks, "rest")
        assert bool(seconds.witness.may_part) == bool(expected), (lately_mc, product_mc)
        assert locks.paused == []


def test_what_cold_pieces_took_down_must_come_back_before_the_quarter_hour_begins():
    """An hour 401 mC down, long since no fall any more: not judged; 900 s from 400 mC on."""
    seconds, locks = _seconds(), _Locks()
    locks.product_mc = NOW_MC - 401
    for _ in range(3600):
        _judge(seconds, locks, "rest")
        locks.highest = NOW_MC - 401
    locks.product_mc = NOW_MC - 400
    for second in range(901):
        assert not seconds.witness.may_part, second
        _judge(seconds, locks, "rest")
    assert seconds.witness.may_part


def test_the_witness_knows_that_seed_is_due():
    """In the seed step alone."""
    for kind in ("melt", "rest", "cool", "seed", "rewarm", "work", ""):
        seconds = _seconds()
        for before in ("seed", "work", kind):
            _judge(seconds, _Locks(), before)
        assert seconds.witness.is_seeding == (kind == "seed")


def test_a_declared_addition_may_take_it_down():
    """While a millisecond of it is left; not after it."""
    assert _paused("work", 3001, addition_ms=1) == []
    assert _paused("work", 3001, addition_ms=0) == [NOW_MC]
    assert _paused("work", 3001, addition_ms=-250) == [NOW_MC]


def test_what_cools_while_heat_is_withheld_is_no_fall():
    """It falls by 9 K withheld; given back, 3 K from there are allowed."""
    seconds, locks = _seconds(), _Locks()
    locks.withhold_code = 1
    locks.product_mc = 31000
    _judge(seconds, locks)
    locks.withhold_code = 0
    for product_mc, expected in ((28000, []), (27999, [31000])):
        locks.product_mc = product_mc
        _judge(seconds, locks)
        assert locks.paused == expected


def test_a_fall_counts_from_the_warmest_of_the_step():
    """Believed at 42, then at 39 and less."""
    seconds, locks = _seconds(), _Locks()
    seconds.believe(42000)
    seconds.believe(41000)
    for product_mc, expected in ((39000, []), (38999, [42000])):
        locks.product_mc = product_mc
        _judge(seconds, locks)
        assert locks.paused == expected


def test_a_step_and_the_end_of_a_pause_count_from_their_own_reading():
    """3 K under it, whatever was before."""
    for anew in (lambda one: one.begin_step(35000), lambda one: one.after_pause(35000, 0)):
        seconds, locks = _seconds(), _Locks()
        anew(seconds)
        for product_mc, expected in ((32000, []), (31999, [35000])):
            locks.product_mc = product_mc
            _judge(seconds, locks)
            assert locks.paused == expected


def test_in_a_test_a_fall_counts_within_the_last_minutes():
    """From the lower of: the warmest since the fan ran, the warmest of the last minutes."""
    for highest_mc, recent_mc in ((42000, NOW_MC), (NOW_MC, 42000)):
        for fallen_mc, expected in ((3000, []), (3001, [NOW_MC])):
            seconds, locks = _seconds(), _Locks()
            seconds.begin_step(highest_mc)
            locks.highest = recent_mc
            locks.product_mc = NOW_MC - fallen_mc
            _judge(seconds, locks, "")
            assert locks.paused == expected


def test_in_a_test_what_the_fan_takes_is_no_fall():
    """9 K with the fan on; without it 3 K from there."""
    seconds, locks = _seconds(), _Locks()
    locks.product_mc = 31000
    _judge(seconds, locks, "", fan_permille=1)
    assert locks.paused == []
    for product_mc, expected in ((28000, []), (27999, [31000])):
        locks.product_mc = product_mc
        _judge(seconds, locks, "")
        assert locks.paused == expected


def test_what_the_witness_says_is_done():
    """Heat unasked and a dead heater stop, a doubt is handed on; nothing said, nothing done."""
    for field, code, doubts in (
        ("unasked", HEAT_UNASKED, 0),
        ("is_dead", NO_RISE, 0),
        ("doubt", 0, 1),
        ("is_gentle", 0, 0),
    ):
        seconds, locks = _seconds(), _Locks()
        setattr(seconds.witness, field, 1)
        assert (_judge(seconds, locks), locks.doubts) == (code, doubts)


def test_a_description_without_the_balance_asks_no_witness():
    """Bit 4 of checks_off; the others leave it in."""
    for checks_off, code in ((4, 0), (7, 0), (3, HEAT_UNASKED), (0, HEAT_UNASKED)):
        seconds = _seconds(checks_off=checks_off)
        seconds.witness.unasked = 1
        assert _judge(seconds, _Locks()) == code
        assert (seconds.witness.asked is None) == (code == 0)


def _no_rise_s(seconds, locks=None, most_s=400):
    """The second of full heat in which it stops for want of a rise, 0 for none. No loss."""
    locks = locks or _Locks()
    for second in range(1, most_s + 1):
        code = _judge(seconds, locks, permille=1000, room_mc=99000, target_mc=48000)
        if code:
            assert code == NO_RISE
            return second
    return 0


def test_heat_without_a_rise_stops():
    """1750 g and the plate take 4000 J/K: 6000 J and 3333 J for the plate are 94 s of 100 W."""
    assert _no_rise_s(_seconds()) == 94


def test_an_addition_begins_the_heat_that_must_show_anew():
    """93 s, something goes in, 94 s; the witness begins anew, too."""
    seconds = _seconds()
    assert _no_rise_s(seconds, most_s=93) == 0
    seconds.renew(NOW_MC)
    assert seconds.witness.renewals == 1
    assert _no_rise_s(seconds) == 94


def test_a_pause_that_nobody_declared_leaves_its_heat_to_be_shown():
    """Hands that the pedal said begin anew; what only looked like hands does not."""
    for is_declared, expected in ((1, 94), (0, 1)):
        seconds = _seconds()
        assert _no_rise_s(seconds, most_s=93) == 0
        seconds.after_pause(NOW_MC, is_declared)
        assert seconds.witness.pauses == 1
        assert _no_rise_s(seconds) == expected


def test_a_plate_that_cooled_in_a_pause_is_not_asked_to_be_hot_at_once():
    """A cold plate under full heat is told after so many seconds, and as many after a pause."""
    seconds, locks = _seconds(6000), _Locks()
    locks.plate_mc = NOW_MC
    first_s = _no_rise_s(seconds, locks)
    assert 30 < first_s < 80
    seconds = _seconds(6000)
    assert _no_rise_s(seconds, locks, first_s - 1) == 0
    seconds.after_pause(NOW_MC, 0)
    assert _no_rise_s(seconds, locks) == first_s


def test_a_batch_begins_without_the_pieces_of_the_one_before():
    """They were cold and went in then; now the balance may say that a reading is behind."""
    seconds, locks = _seconds(), _Locks()
    locks.product_mc = NOW_MC - 1000
    _judge(seconds, locks)
    assert seconds.witness.asked["may_melt"]
    locks.product_mc = NOW_MC
    seconds.begin(NOW_MC, 1000)
    seconds.begin_step(NOW_MC)
    _judge(seconds, locks)
    assert not seconds.witness.asked["may_melt"]


def test_a_batch_begins_without_the_fan_of_the_one_before():
    """Its end in the batch before is no end of a fan now."""
    seconds = _seconds()
    _judge(seconds, _Locks(), "cool", fan_permille=1000)
    seconds.begin(NOW_MC, 1000)
    renewals = seconds.witness.renewals
    _judge(seconds, _Locks(), "work")
    assert seconds.witness.renewals == renewals


def test_a_batch_begins_anew_with_its_own_mass():
    """Rise and witness know it: 3.75 kg and the plate take 8000 J/K, 12000 and 3333 J."""
    seconds = _seconds()
    assert _no_rise_s(seconds, most_s=93) == 0
    seconds.begin(NOW_MC, 3750)
    assert seconds.witness.mass_g == 3750
    assert _no_rise_s(seconds) == 154


def test_the_witness_knows_where_a_step_begins():
    """And what somebody pressed away is not made good by it."""
    seconds = _seconds()
    seconds.witness.is_gentle = 1
    seconds.begin_step(NOW_MC)
    assert (seconds.witness.step_from_mc, seconds.witness.is_gentle) == (NOW_MC, 1)


def _fan_dead_s(seconds, locks=None, most_s=400):
    """The second in which the fan is called dead: 19 K over the room, 95 W by its description."""
    locks = locks or _Locks()
    for second in range(1, most_s + 1):
        _judge(seconds, locks, "cool", fan_permille=1000, room_mc=21000)
        if seconds.is_fan_dead:
            return second
    return 0


def test_a_fan_that_takes_nothing_is_told_once_in_a_step():
    """4000 J/K by 4 K: 16000 J, 169 s of 95 W after a minute. Then only, and in the next step."""
    seconds, locks = _seconds(), _Locks()
    assert _fan_dead_s(seconds, locks) == 228
    assert _fan_dead_s(seconds, locks) == 0
    seconds.begin_step(NOW_MC)
    assert _fan_dead_s(seconds, locks) == 228
    seconds.begin(NOW_MC, 3750)
    assert seconds.is_fan_dead == 0
    assert _fan_dead_s(seconds, locks) == 396


def test_hands_and_additions_begin_the_fan_anew():
    """A minute and 168 s, something goes in, 169 s from there; never while hands are in."""
    seconds, locks = _seconds(), _Locks()
    assert _fan_dead_s(seconds, locks, 227) == 0
    locks.blurred = True
    assert _fan_dead_s(seconds, locks, 1) == 0  # counts as the first
    assert _fan_dead_s(seconds, _Locks()) == 168
    seconds.begin_step(NOW_MC)
    assert _fan_dead_s(seconds, _Locks(), 168) == 0
    assert _fan_dead_s(seconds, locks) == 0


def test_what_was_cooled_by_the_fan_is_no_balance():
    """Off after on: the balance begins anew, once."""
    seconds, locks = _seconds(), _Locks()
    seen = []
    for fan_permille in (0, 0, 1, 1000, 0, 0):
        _judge(seconds, locks, fan_permille=fan_permille)
        seen.append(seconds.witness.renewals)
    assert seen == [0, 0, 0, 0, 1, 1]


def test_how_much_can_be_judged():
    """A test and what is blurred: nothing. A fan, or cooling: only too much heat. Else all."""
    for kind, blurred, fan_permille, room_mc, expected in (
        ("", False, 0, 21000, NOTHING),
        ("melt", True, 0, 21000, NOTHING),
        ("melt", False, 0, 21000, ALL),
        ("work", False, 0, MISSING, ALL),
        ("seed", False, 0, 21000, ALL),
        ("cool", False, 0, 21000, AHEAD_ONLY),
        ("melt", False, 1, 21000, AHEAD_ONLY),
        ("melt", False, 1000, NOW_MC - 1, AHEAD_ONLY),
        ("melt", False, 1000, NOW_MC, NOTHING),
        ("cool", False, 1000, NOW_MC, NOTHING),
    ):
        asked = _asked(kind, blurred=blurred, fan_permille=fan_permille, room_mc=room_mc)
        assert asked["how_much"] == expected, (kind, blurred, fan_permille, room_mc)


def test_while_working_less_than_a_third_may_be_left():
    """30 percent; in every other step all of it is there."""
    for kind in ("melt", "rest", "cool", "seed", "rewarm"):
        assert _asked(kind)["least_part"] == 100
    assert _asked("work")["least_part"] == 30


def test_the_figures_are_those_of_the_second():
    """370 permille of 100 W; what is read of chocolate and plate."""
    asked = _asked(permille=370, plate_mc=47000)
    assert (asked["heat_mw"], asked["product_mc"], asked["plate_mc"]) == (37000, NOW_MC, 47000)


def test_the_loss_is_the_described_one():
    """1 W/K: 19 W at 40 in a room of 21, which is taken where no probe is; no gain in a warmer."""
    assert _asked(room_mc=21000)["lost_mw"] == 19000
    assert _asked(room_mc=MISSING)["lost_mw"] == 19000
    assert _asked(room_mc=15000)["lost_mw"] == 25000
    assert _asked(room_mc=45000)["lost_mw"] == 0


def test_fat_may_melt_below_36_degrees_in_melt_and_rest():
    """At 36.0 none is left; in other steps none is expected."""
    for kind, product_mc, expected in (
        ("melt", 35999, True),
        ("rest", 35999, True),
        ("melt", 36000, False),
        ("rest", 36000, False),
        ("rewarm", 35999, False),
        ("work", 30000, False),
        ("cool", 30000, False),
        ("seed", 30000, False),
    ):
        assert _asked(kind, product_mc)["may_melt"] == expected, (kind, product_mc)


def test_the_witness_knows_where_blocks_may_lie():
    """In melt and rest."""
    for kind in ("melt", "rest", "cool", "seed", "rewarm", "work", ""):
        seconds = _seconds()
        _judge(seconds, _Locks(), kind)
        assert seconds.witness.melting == (kind in ("melt", "rest")), kind


def test_cold_pieces_may_take_all_heat_for_a_quarter_of_an_hour():
    """A fall of 0.401 K tells of them, of 0.4 K not; 900 s from the last second of the fall."""
    for fallen_mc, expected_s in ((400, 0), (401, 900)):
        seconds, locks = _seconds(), _Locks()
        melting_s = 0
        for second in range(1000):
            locks.product_mc = NOW_MC - (fallen_mc if second < 20 else 0)
            _judge(seconds, locks)
            melting_s += 1 if seconds.witness.asked["may_melt"] and second >= 19 else 0
        assert melting_s == expected_s
