"""Heat for so little chocolate, and the plate against its limits: each at its edge."""

from fw_fakes import MISSING, bench
from rigfw import limits
from rigfw.plate import PlateCheck, strongest_permille


def _check():
    check = PlateCheck(bench())
    check.begin(1000)
    return check


def test_two_reads_in_a_row_above_the_rigs_plate_limit_are_too_hot():
    """70.0 is not above it; 70.001 is, at the second read, and at each that follows."""
    check = _check()
    assert [check.new(70000, 2000) for _ in range(4)] == [False] * 4
    assert [check.new(70001, 2000) for _ in range(3)] == [False, True, True]


def test_two_hot_reads_apart_are_none():
    """A good one between them counts anew, and so does a batch."""
    check = _check()
    assert [check.new(mc, 2000) for mc in (70001, 70000, 70001, 70001)] == [0, 0, 0, 1]
    check.begin(0)
    assert not check.new(70001, 2000)


def test_a_plate_below_0_degrees_was_not_read():
    """0.0 is a reading; -0.001 is a broken probe, whose last good reading gets old."""
    check = _check()
    assert not check.new(21000, 2000)
    assert not check.new(-1, 3000)
    assert (check.plate_mc, check.good_ms) == (21000, 2000)
    assert not check.new(0, 4000)
    assert (check.plate_mc, check.good_ms) == (0, 4000)


def test_a_cold_read_does_not_make_a_hot_one_good():
    """Hot, broken, hot: too hot."""
    check = _check()
    assert [check.new(mc, 2000) for mc in (70001, -1, 70001)] == [0, 0, 1]


def test_a_batch_begins_without_a_plate():
    """Its age counts from the begin, and nothing is held."""
    check = _check()
    check.new(65000, 2000)
    assert check.is_held(60000)
    check.begin(9000)
    assert (check.plate_mc, check.good_ms) == (MISSING, 9000)
    check.plate_mc = 60000
    assert not check.is_held(60000)


def test_heat_is_withheld_above_the_steps_wall_limit():
    """60.0 is not above 60; 60.001 is, until half a kelvin below."""
    check = _check()
    for plate_mc, expected in (
        (60000, 0),
        (60001, 1),
        (60000, 1),
        (59501, 1),
        (59500, 0),
        (60000, 0),
        (60001, 1),
    ):
        check.new(plate_mc, 2000)
        assert check.is_held(60000) == expected, plate_mc


def test_heat_is_withheld_above_the_rigs_plate_limit_whatever_the_step_allows():
    """A step with 75 on a rig with 70."""
    check = _check()
    check.new(70000, 2000)
    assert check.is_held(75000) == 0
    check.new(70001, 2000)
    assert check.is_held(75000) == 1


def test_5_k_take_34_s_at_least():
    """1500 W under 2 kg: 4080 J/K at 148 mK/s are 603 W, 402 permille; weaker rigs get all."""
    strong = bench(heater_w=1500, plate_j_per_k=900, has_sense=1)
    assert strongest_permille(strong, 2000, 0) == 402
    assert strongest_permille(strong, 2000, 1000) == 245  # 2490 J/K: 368 W
    assert strongest_permille(strong, 2000, 3000) == 88  # the bare plate: 133 W
    assert strongest_permille(bench(), 2000, 0) == 1000


def test_a_light_plate_must_not_get_5_k_hotter_before_its_probe_tells():
    """6 kg would take all of 1500 W; 900 J/K get 750 W in 6 s for 5 K. 119 J/K: 99 of 100 W."""
    strong = bench(heater_w=1500, plate_j_per_k=900, has_sense=1)
    assert strongest_permille(strong, 6000, 0) == 500
    assert strongest_permille(bench(plate_j_per_k=120), 2000, 0) == 1000
    assert strongest_permille(bench(plate_j_per_k=119), 2000, 0) == 990


def test_the_last_quarter_kilogram_gets_half():
    """251 g left: all of 60 W. 250 g left: half. A batch that small from the start is not cut."""
    weak = bench(heater_w=60)
    assert strongest_permille(weak, 2000, 1749) == 1000
    assert strongest_permille(weak, 2000, 1750) == 500
    assert strongest_permille(weak, 250, 0) == 1000
    assert strongest_permille(weak, 2000, 2000) == 500


def test_a_rig_with_a_check_off_gets_20_w():
    """Each of the three, alone or with others; never more than so little chocolate may get."""
    for off in (limits.OFF_STOP_PROOF, limits.OFF_COLD, limits.OFF_BALANCE, 7):
        assert strongest_permille(bench(heater_w=60, checks_off=off), 2000, 0) == 333
    assert strongest_permille(bench(heater_w=20, checks_off=1), 2000, 0) == 1000
    strong = bench(heater_w=1500, plate_j_per_k=900, has_sense=1, checks_off=1)
    assert strongest_permille(strong, 2000, 0) == 13
    light = bench(heater_w=15, plate_j_per_k=20, checks_off=1)
    assert strongest_permille(light, 250, 250) == 133  # the bare plate: 2 W
