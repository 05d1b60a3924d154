"""Heat against temperatures, at the edge: one mC on either side, one second early.

A kilogram takes 2000 J/K at the most and 1590 at the least, the plate 500. All heat and all loss
of a case come in its first second, so the figures are exact for the two minutes after it.
"""

from fw_fakes import MISSING, bench
from rigfw.balance import AHEAD, BEHIND, FINE, Balance

FROM_MC = 31000
KG = 1000


def _begun(plate_mc=FROM_MC, mass_g=KG, slot_s=10):
    balance = Balance(bench(), slot_s)
    balance.begin(mass_g)
    assert balance.second(50000000, 50000000, FROM_MC, plate_mc, 100, 0) == FINE  # only remembered
    return balance


def _verdict(moved_mc, heat_j=0, lost_j=0, plate=(FROM_MC, FROM_MC), part=100, may_melt=0):
    """(verdict, the second in which it was given) within 30 s, (FINE, 0) when none was."""
    balance = _begun(plate[0])
    for second in range(1, 31):
        given = (1000 * heat_j, 1000 * lost_j) if second == 1 else (0, 0)
        verdict = balance.second(*given, FROM_MC + moved_mc, plate[1], part, may_melt)
        if verdict != FINE:
            return verdict, second
    return FINE, 0


def test_heat_must_show_but_for_15_percent_and_1_k():
    """6000 J less 900 J of doubt are 2.55 K in a kilogram: 1.55 K is enough, 1.549 K behind."""
    assert _verdict(1550, heat_j=6000) == (FINE, 0)
    assert _verdict(1549, heat_j=6000) == (BEHIND, 20)


def test_no_more_than_the_heat_may_show_but_for_15_percent_and_1_k():
    """3180 J and 477 J of doubt are 2.3 K in the least heat capacity: 3.301 K runs ahead."""
    assert _verdict(3300, heat_j=3180) == (FINE, 0)
    assert _verdict(3301, heat_j=3180)[0] == AHEAD


def test_what_may_be_left_of_a_poured_bowl_moves_more():
    """30 % of it: 3657 J are 7.666 K, so 8.666 K are fine."""
    assert _verdict(8666, heat_j=3180, part=30) == (FINE, 0)
    assert _verdict(8667, heat_j=3180, part=30)[0] == AHEAD


def test_what_may_be_left_counts_for_heat_only():
    """A bowl that lost 3200 J for sure must have come down by 1.6 K, poured or not."""
    assert _verdict(-600, lost_j=8000, part=30) == (FINE, 0)
    assert _verdict(-599, lost_j=8000, part=30)[0] == AHEAD


def test_the_loss_may_be_60_percent_off_either_way():
    """8000 J: 3200 in the greatest heat capacity at the least, 12800 in the least at the most."""
    assert _verdict(-600, lost_j=8000) == (FINE, 0)
    assert _verdict(-599, lost_j=8000) == (AHEAD, 20)
    assert _verdict(-9051, lost_j=8000) == (FINE, 0)
    assert _verdict(-9052, lost_j=8000) == (BEHIND, 20)


def test_a_gain_from_the_room_is_not_taken_off():
    """A loss below nothing counts as none."""
    assert _verdict(1000, lost_j=-8000) == (FINE, 0)
    assert _verdict(1001, lost_j=-8000) == (AHEAD, 20)


def test_what_the_plate_holds_is_known_to_a_quarter():
    """It took 2000 J of 6000: 4000 J, 1400 J in doubt, are 1.3 K to 3.396 K."""
    warmer = (FROM_MC, FROM_MC + 4000)
    assert _verdict(300, heat_j=6000, plate=warmer) == (FINE, 0)
    assert _verdict(299, heat_j=6000, plate=warmer) == (BEHIND, 20)
    assert _verdict(4396, heat_j=6000, plate=warmer) == (FINE, 0)
    assert _verdict(4397, heat_j=6000, plate=warmer) == (AHEAD, 20)


def test_a_plate_that_cools_gives_its_heat_to_the_chocolate():
    """It gave 2000 J, a quarter in doubt: 1500 J must show, 2500 J may."""
    cooler = (FROM_MC + 4000, FROM_MC)
    assert _verdict(-250, plate=cooler) == (FINE, 0)
    assert _verdict(-251, plate=cooler) == (BEHIND, 20)
    assert _verdict(2572, plate=cooler) == (FINE, 0)
    assert _verdict(2573, plate=cooler) == (AHEAD, 20)


def test_a_plate_that_nobody_measures_may_hold_3_k_more_or_less():
    """1500 J in doubt beside the 900: 3600 J are 1.8 K. One reading of the plate is no pair."""
    for plate in ((MISSING, MISSING), (MISSING, FROM_MC), (FROM_MC, MISSING)):
        assert _verdict(800, heat_j=6000, plate=plate) == (FINE, 0)
        assert _verdict(799, heat_j=6000, plate=plate) == (BEHIND, 20)


def test_melting_fat_may_take_all_heat_but_gives_none_off():
    """It need not rise by any heat; it falls by no more than 1 K and the loss."""
    assert _verdict(-1000, heat_j=6000, may_melt=1) == (FINE, 0)
    assert _verdict(-1001, heat_j=6000, may_melt=1) == (BEHIND, 20)
    assert _verdict(-9051, lost_j=8000, may_melt=1) == (FINE, 0)
    assert _verdict(-9052, lost_j=8000, may_melt=1) == (BEHIND, 20)


def test_what_comes_through_the_plate_is_no_ladle():
    """Ahead under a plate more than 1 K hotter: told after 5 s, else 20; behind always 20."""
    hot_mc, cold_mc = FROM_MC + 3001, FROM_MC + 3000
    assert _verdict(2000, plate=(hot_mc, hot_mc)) == (AHEAD, 5)
    assert _verdict(2000, plate=(cold_mc, cold_mc)) == (AHEAD, 20)
    assert _verdict(4000, plate=(MISSING, MISSING)) == (AHEAD, 20)
    assert _verdict(-2000, plate=(hot_mc, hot_mc)) == (BEHIND, 20)


def test_only_what_stands_in_a_row_is_a_verdict():
    """19 s behind, one that is not, 19 s behind: nothing. The twentieth in a row is one."""
    balance = _begun()
    seen = []
    for moved_mc in [-2000] * 19 + [0] + [-2000] * 20:
        seen.append(balance.second(0, 0, FROM_MC + moved_mc, FROM_MC, 100, 0))
    assert seen == [FINE] * 39 + [BEHIND]


def test_heat_counts_for_two_minutes():
    """6000 J in the first second that never show: behind from 20 s on, forgotten at 120 s."""
    balance = _begun()
    seen = [balance.second(6000000, 0, FROM_MC, FROM_MC, 100, 0)]
    for _ in range(139):
        seen.append(balance.second(0, 0, FROM_MC, FROM_MC, 100, 0))
    assert seen == [FINE] * 19 + [BEHIND] * 100 + [FINE] * 21


def test_heat_counts_for_six_minutes_where_slots_are_half_minutes():
    """The same 6000 J: forgotten at 360 s."""
    balance = _begun(slot_s=30)
    seen = [balance.second(6000000, 0, FROM_MC, FROM_MC, 100, 0)]
    for _ in range(379):
        seen.append(balance.second(0, 0, FROM_MC, FROM_MC, 100, 0))
    assert seen == [FINE] * 19 + [BEHIND] * 340 + [FINE] * 21


def test_small_heat_adds_up():
    """100.5 W for 60 s are 6030 J, 5126 of them sure, and as much of loss: no part gets lost."""
    for moved_mc, expected in ((1563, FINE), (1562, BEHIND)):
        balance = _begun()
        for _ in range(60):
            balance.second(100500, 0, FROM_MC + 1800, FROM_MC, 100, 0)
        for _ in range(20):
            verdict = balance.second(0, 0, FROM_MC + moved_mc, FROM_MC, 100, 0)
        assert verdict == expected, moved_mc
    for moved_mc, expected in ((-206, FINE), (-205, AHEAD)):
        balance = _begun()
        for _ in range(60):
            balance.second(0, 100500, FROM_MC - 1200, FROM_MC, 100, 0)
        for _ in range(20):
            verdict = balance.second(0, 0, FROM_MC + moved_mc, FROM_MC, 100, 0)
        assert verdict == expected, moved_mc


ANEW = (lambda one: one.renew(), lambda one: one.begin(KG))


def test_what_was_before_a_renewal_or_a_batch_says_nothing():
    """19 s behind, then anew: the next second only remembers, and 20 more must pass."""
    for anew in ANEW:
        balance = _begun()
        for _ in range(19):
            assert balance.second(0, 0, FROM_MC - 5000, FROM_MC, 100, 0) == FINE
        anew(balance)
        assert balance.second(0, 0, FROM_MC - 5000, FROM_MC, 100, 0) == FINE
        for _ in range(19):
            assert balance.second(0, 0, FROM_MC - 7000, FROM_MC, 100, 0) == FINE
        assert balance.second(0, 0, FROM_MC - 7000, FROM_MC, 100, 0) == BEHIND


def test_two_minutes_begin_at_a_renewal():
    """After 7 s of a slot: the heat of its first second is forgotten after 120 s all the same."""
    for anew in ANEW:
        balance = _begun()
        for _ in range(7):
            balance.second(0, 0, FROM_MC, FROM_MC, 100, 0)
        anew(balance)
        balance.second(0, 0, FROM_MC, FROM_MC, 100, 0)
        balance.second(6000000, 0, FROM_MC, FROM_MC, 100, 0)
        seen = [balance.second(0, 0, FROM_MC, FROM_MC, 100, 0) for _ in range(139)]
        assert seen == [FINE] * 18 + [BEHIND] * 100 + [FINE] * 21


def test_no_part_of_a_joule_is_left_over_a_renewal():
    """999 mJ before it: 6000.001 J after it are 6000, and 8000.001 J of loss are 8000."""
    for given, moved_mc in (((6000001, 0), 4100), ((0, 8000001), -2200)):
        balance = _begun(mass_g=500)
        balance.second(999, 999, FROM_MC, FROM_MC, 100, 0)
        balance.renew()
        balance.second(0, 0, FROM_MC, FROM_MC, 100, 0)
        balance.second(given[0], given[1], FROM_MC + moved_mc, FROM_MC, 100, 0)
        for _ in range(25):
            assert balance.second(0, 0, FROM_MC + moved_mc, FROM_MC, 100, 0) == FINE


def test_the_sums_begin_at_nothing_so_that_they_stay_small():
    """A gigajoule of heat and of loss before each of five renewals fit into 32 bits."""
    balance = _begun()
    for _ in range(5):
        balance.renew()
        balance.second(0, 0, FROM_MC, FROM_MC, 100, 0)
        for second in range(11):
            given_mw = 0 if second else 10**12
            balance.second(given_mw, given_mw, FROM_MC, FROM_MC, 100, 0)
        assert 10**9 - 1 < max(balance._heat_j) < 2**30
        assert 10**9 - 1 < max(balance._lost_j) < 2**30


def test_a_batch_counts_with_its_own_mass():
    """The same 6000 J in two kilograms: 1.275 K, so 0.275 K are enough."""
    for moved_mc, expected in ((275, FINE), (274, BEHIND)):
        balance = _begun(mass_g=2000)
        balance.second(6000000, 0, FROM_MC + moved_mc, FROM_MC, 100, 0)
        for _ in range(19):
            verdict = balance.second(0, 0, FROM_MC + moved_mc, FROM_MC, 100, 0)
        assert verdict == expected, moved_mc
