"""Sizing against tables and textbooks from outside, and its refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigfw import limits
from rigfw.commissioned import UNPROVED_W
from snapgloss.base.errors import InputError
from snapgloss.rigs import reaction, sizing_cutout, sizing_heat, sizing_switches, sizing_wires
from snapgloss.rigs.description import BENCH_RIG, from_text, to_text
from snapgloss.rigs.sized import BUILDS, described
from snapgloss.rigs.sizing import cut_out, size
from snapgloss.rigs.sizing_cutout import (
    at_full_power_c,
    at_full_power_least_c,
    choose,
    from_run,
    hottest_c,
    levels_at_c,
)
from snapgloss.rigs.sizing_figures import STIRRER_W, cut_out_fits
from snapgloss.rigs.sizing_stirrer import stirrer
from snapgloss.rigs.sizing_wanted import Wanted

# IEC 60228, class 5, plain: greatest ohm/km at 20 degC, as cable makers reprint it.
CLASS_5 = {0.25: 76.0, 0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98}


def value_of(found, key):
    """The one figure of that key."""
    (value,) = [figure.value for figure in found.figures if figure.key == key]
    return value


@pytest.mark.parametrize(("mm2", "ohm_per_km"), CLASS_5.items())
def test_copper_agrees_with_the_standards_table(mm2, ohm_per_km):
    """Resistance of each size within 3 % of the table's greatest value."""
    assert sizing_wires.ohm_per_km(mm2) == pytest.approx(ohm_per_km, rel=0.03)


def test_warm_copper_agrees_with_a_makers_factors():
    """60 degC: a cable maker's factor to 20 degC is 0.862, 80 degC 0.806 (uecables.com)."""
    assert sizing_wires.ohm_per_km(1.5) / sizing_wires.ohm_per_km(1.5, 60.0) == pytest.approx(
        0.862, abs=0.003
    )
    assert sizing_wires.ohm_per_km(1.5) / sizing_wires.ohm_per_km(1.5, 80.0) == pytest.approx(
        0.806, abs=0.004
    )


# IEC 60335-1, cords: "> 3 A to 6 A: 0.75 mm2" and so on, as a pump's manual reprints the table.
@pytest.mark.parametrize(
    ("fuse_a", "mm2"), [(3.0, 0.5), (3.15, 0.75), (6.0, 0.75), (10.0, 1.0), (16.0, 1.5)]
)
def test_wire_for_a_fuse_is_that_of_the_table_of_cords(fuse_a, mm2):
    """The thinnest copper of the table that carries the fuse."""
    assert sizing_wires.wire_mm2(fuse_a) == mm2


@pytest.mark.parametrize(
    ("load_a", "fuse_a"),
    [(60 / 24, 3.15), (75 / 24, 4.0), (100 / 24, 6.3), (7.5, 10.0), (0.4, 0.5), (4.0, 5.0)],
)
def test_fuse_is_the_next_over_one_and_a_quarter_loads(load_a, fuse_a):
    """60 W at 24 V: 3.1 A, so 3.15 A; 100 W: 5.2 A, so 6.3 A."""
    assert sizing_wires.fuse_a(load_a) == fuse_a


def test_a_long_cable_gets_thicker():
    """4 m to the bowl: at 0.75 mm2 3.1 A lose more than 3 % of 24 V, at 1.0 mm2 less."""
    assert sizing_wires.drop_v(3.125, 0.75, 4.0) > 0.72
    assert sizing_wires.wire_for(3.125, 4.0, 24.0, 4.0) == 1.0


def test_no_fuse_and_no_wire_beyond_the_guide():
    """20 A is no load of this guide, and says so."""
    with pytest.raises(InputError, match="more than 16 A"):
        sizing_wires.fuse_a(20.0)
    with pytest.raises(InputError, match="no wire of this guide"):
        sizing_wires.wire_for(12.0, 16.0, 24.0, 20.0)


# Worked by hand: 1 kg of 1.95 kJ/K with bowl, 0.675 kJ/K for 0.25 kg, a plate of 0.40 kJ/K;
# delta-T C / P for 5 K, rounded as written.
@pytest.mark.parametrize(
    ("held", "seconds"),
    [
        (1950, {40: 244, 100: 98, 300: 32, 1000: 10}),
        (675, {40: 84, 100: 34, 300: 11, 1000: 3}),
        (400, {40: 50, 100: 20, 300: 7, 1000: 2}),
    ],
)
def test_time_to_react_at_the_points_worked_by_hand(held, seconds):
    """5 K x C / P."""
    for watt, expected in seconds.items():
        assert reaction.reaction_s(5.0, held, watt) == pytest.approx(expected, abs=0.5)


def test_the_firmwares_own_rate_is_this_time():
    """Its limit of 148 mK/s is 5 K in 34 s."""
    own_mc_per_s = 1000 * 5.0 / reaction.LEAST_S
    assert own_mc_per_s == pytest.approx(limits.STRONG_MC_PER_S, rel=0.01)
    assert limits.FREE_W == 100


def test_every_race_is_a_hazard_with_a_bound():
    """The nine hazards are found in hazards.toml, worst first; a probe beside the bowl leads."""
    found = reaction.races(1000.0, 75.0, has_sense=True)
    assert {race.key for race in found} == set(reaction.AT_FULL_HEAT)
    assert found[0].key == "probe_out"
    assert found[0].rise_k == pytest.approx(75 * 60 / 1000)
    assert [race.rise_k for race in found] == sorted((r.rise_k for r in found), reverse=True)


def test_without_the_sense_a_shorted_switch_is_a_race_lost():
    """120 s at 75 W on 0.5 kg: 9.4 K, and the words name the cut-out."""
    found = reaction.races(sizing_heat.held_j_per_k(0.5), 75.0, has_sense=False)
    assert found[0].key == "switch_shorted"
    assert not found[0].is_in_time
    assert "heat ends within 120 s" in found[0].sentence()
    assert found[0].sentence().endswith("Too late for the temper: the cut-out's.")


def test_relay_life_at_the_points_worked_by_hand():
    """1e5 operations: 278 h at one in 10 s, 1,667 h at one in 60 s."""
    assert sizing_switches.relay_life_h(10) == pytest.approx(278, abs=0.5)
    assert sizing_switches.relay_life_h(60) == pytest.approx(1667, abs=0.5)


def test_thermal_resistances_add_up():
    """3.75 W: (110 - 45) / 3.75 - 2 = 15.33 K/W, and forwards 45 + 3.75 x 17.33 = 110 degC."""
    sink = sizing_switches.sink_k_per_w(3.75)
    assert sink == pytest.approx(15.33, abs=0.005)
    assert sizing_switches.junction_c(3.75, sink) == pytest.approx(110.0)
    assert sizing_switches.sink_k_per_w(1.0) is None  # 45 + 62 = 107 degC without a sink
    assert sizing_switches.sink_k_per_w(1.1) is not None


def test_the_edge_train_outlives_one_lost_pass_and_not_two():
    """Worst parts: 20 ms over two passes, 20 ms under three; R is a value of 1 % resistors."""
    hold, pass_s = sizing_switches.edge_train(), limits.LOOP_MS / 1000
    assert hold.ohm == pytest.approx(887e3)
    assert hold.usual_s == pytest.approx(0.7 * 887e3 * 1e-6)
    assert hold.least_s >= 2 * pass_s + 0.02
    assert hold.most_s <= 3 * pass_s - 0.02


def test_sense_reads_high_at_a_low_supply_and_never_over_the_pin():
    """24 V: 2.76 V with the pin's own 50 k beside 4.7 k, 2.99 V without; least 2.45, most 3.35."""
    sense = sizing_switches.sense_divider(24.0, *sizing_switches.SENSE_OHM)
    beside = 4700 * 50_000 / 54_700
    assert sense.usual_v == pytest.approx((24 * beside / (33_000 + beside), 24 * 4.7 / 37.7))
    beside = 4653 * 50_000 / 54_653
    assert sense.least_v == pytest.approx(21.6 * beside / (33_330 + beside))
    assert sense.least_v >= sizing_switches.PIN_HIGH_V + 0.4
    assert sense.most_v == pytest.approx(26.4 * 4747 / (32_670 + 4747))
    assert sense.most_v <= sizing_switches.PIN_MOST_V


def test_the_pins_own_pull_down_is_a_part_of_the_divider():
    """Ten times the resistors: the pull-down takes a third of the voltage, and 24 V read low."""
    weak = sizing_switches.sense_divider(24.0, 330_000.0, 47_000.0)
    assert weak.least_v < sizing_switches.PIN_HIGH_V < weak.usual_v[1]


# Resistance of a 10 k thermistor of B 3977 at 32 and 35 degC: 7,406 and 6,535 ohm (its maker's
# published curve, constants from memory).
def test_a_thermistor_reads_finer_than_it_needs_and_warms_itself_little():
    """10 k pull-up: about 0.02 K a step of 12 bits, under 0.05 K of its own heat in a sleeve."""
    one_up = 7406 * (6535 / 7406) ** (1 / 3)
    divider = sizing_switches.ntc_divider(10_000, 7406, one_up)
    assert divider.step_k == pytest.approx(0.024, abs=0.002)
    assert divider.self_heat_k == pytest.approx(7406 * (3.3 / 17406) ** 2 / 6e-3, rel=1e-9)
    assert divider.self_heat_k < 0.05


def test_film_of_air_at_a_textbook_point():
    """Air of 20 degC at 3 m/s along 80 mm: Re 15,894, Nu 74.7, 24.0 W/m2 K (worked by hand)."""
    assert sizing_heat.film_w_per_m2_k(3.0, 0.08) == pytest.approx(24.0, abs=0.2)
    speed = sizing_heat.air_speed_m_per_s(24.0 * 0.05, 0.05, 0.08)
    assert speed == pytest.approx(3.0, rel=0.02)


def test_cooling_time_is_newtons_law():
    """Integrated step by step the conductance brings 48 to 28 degC in the time asked for."""
    conductance = sizing_heat.cooling_needed_w_per_k(2.0, 21.0, 1800.0)
    at_c, held = 48.0, sizing_heat.held_j_per_k(2.0)
    for _ in range(1800):
        at_c -= conductance * (at_c - 21.0) / held
    assert at_c == pytest.approx(28.0, abs=0.02)


def test_heat_to_melt_worked_by_hand():
    """2 kg from 21 to 48 degC: 2 x 1648.4 x 27 + 2 x 0.36 x 137e3 + 900 x 27 = 212.0 kJ."""
    assert sizing_heat.melt_j(2.0, 21.0) == pytest.approx(211_954, rel=1e-4)
    assert sizing_heat.heater_needed_w(2.0, 21.0, 4500.0) == pytest.approx(
        211_954 / 4500 + 1.4 * 13.5, rel=1e-4
    )


def test_torque_from_casson_at_a_point_worked_by_hand():
    """10 Pa, 2 Pa s at 20 1/s: 90.0 Pa (reference point); 60 turns a minute give that shear."""
    found = stirrer(0.08, 0.06, 60.0, 10.0, 2.0)
    area = 2 * math.pi * 0.08 * 0.06 + 2 / 3 * math.pi * 0.08**2
    assert found.torque_nm == pytest.approx(90.0 * 0.08 * area)
    assert found.power_w == pytest.approx(found.torque_nm * 2 * math.pi)
    # The same stress at the same shear in 1.2 l gives 2.2 W (reference point): the bound is above
    # what a paddle takes, and of its size.
    assert 0.5 * 2.2 < found.power_w < 2 * 2.2


def test_the_levelling_of_an_exponential_is_exact():
    """Any start, end and time constant: three equal steps give the end."""
    for end_c, share in ((71.0, 0.6), (45.0, 0.8)):
        readings = [end_c - (end_c - 21.0) * share**n for n in (1, 2, 3)]
        assert levels_at_c(readings) == pytest.approx(end_c)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ((30, 40, 50), "not begun to level"),
        ((30, 29, 31), "does not rise"),
        ((5, 5, 5), "not rise"),
    ],
)
def test_a_run_too_short_names_no_end(readings, words):
    """A straight line, a falling plate, a plate that stands: refused, not extrapolated."""
    with pytest.raises(InputError, match=words):
        levels_at_c(readings)


def test_low_power_is_taken_up_in_proportion():
    """20 W lift the plate by 13 K over 21: 75 W by 48.75."""
    assert at_full_power_c(34.0, 21.0, 20.0, 75.0) == pytest.approx(69.75)


def test_losses_to_free_air_level_lower_and_are_told():
    """17.4 K at 20 W: 65.3 K at 75 W in proportion, 17.4 x 3.75^0.8 = 50.1 K in free air: 71.1
    degC, which 65 + 5 reaches; 16 K make 67.1, which it does not."""
    assert at_full_power_least_c(38.4, 21.0, 20.0, 75.0) == pytest.approx(71.1, abs=0.05)
    assert from_run(53.0, 38.4, 21.0, 20.0, 75.0).is_sure
    doubtful = from_run(53.0, 37.0, 21.0, 20.0, 75.0)
    assert (doubtful.rated_c, doubtful.is_sure) == (65.0, False)
    assert "Not sure to open" in doubtful.sentence()
    assert hottest_c(75, 15.0) == 53.0


def test_a_cut_out_between_normal_and_stuck():
    """Normal 52, stuck 73: 62 to 65 is possible, so 65, its link the next over 80: 84."""
    found = choose(52.0, 73.0)
    assert (found.rated_c, found.least_c, found.most_c, found.link_c) == (65.0, 62.0, 65.0, 84.0)


def test_a_common_cut_out_that_never_opens_is_not_taken():
    """Stuck on it levels at 70: nothing that opens at 77 is ever chosen."""
    for normal_c in range(30, 80):
        try:
            assert choose(float(normal_c), 70.0).rated_c < 70.0
        except InputError:
            assert normal_c > 50


@given(st.floats(25, 90), st.floats(30, 150))
def test_a_chosen_cut_out_always_opens_and_never_in_a_batch(normal_c, stuck_c):
    """Over normal by 10 K, under stuck by tolerance and 3 K, and under what the wire bears."""
    try:
        found = choose(normal_c, stuck_c)
    except InputError:
        return
    assert normal_c + 10 <= found.rated_c <= min(stuck_c - 8, 105)
    assert found.rated_c < found.link_c <= 110


@pytest.mark.parametrize(("build", "heater_w"), [("bench", 75), ("large", 180), ("pump", 75)])
def test_the_three_rigs_of_the_guide(build, heater_w):
    """Each is sized without a refusal; the heater is enough and no race is lost."""
    found = size(BUILDS[build])
    assert found.heater_w == heater_w
    assert value_of(found, "heater_needed_w") <= heater_w
    assert value_of(found, "react_s") >= reaction.LEAST_S
    assert value_of(found, "stir_least_nm") <= value_of(found, "stir_most_nm")
    assert all(race.is_in_time for race in found.races)


def test_the_larger_rig_is_told_to_need_its_fuse():
    """220 W is more than a supply that limits itself."""
    (caution,) = size(BUILDS["large"]).cautions
    assert "main fuse must open" in caution
    assert size(BUILDS["bench"]).cautions == []


REFUSED = {
    "too little time": ({"melt_s": 1200.0}, "low-voltage rigs end at 180 W"),
    "a warm room with a fan": ({"room_c": 27.0}, "No fan cools"),
    "cooling at once": ({"cool_s": 300.0}, "the air would have to pass"),
    "a weak heater": ({"heater_w": 50}, "does not melt"),
    "a strong heater unsensed": ({"heater_w": 150, "has_sense": False}, "needs the sense"),
    "little under much heat": ({"heater_w": 150, "least_kg": 0.3}, "what watches needs 34 s"),
    "a kilowatt": ({"heater_w": 1000}, "cannot be sized"),
    "no chocolate": ({"mass_kg": 0.0}, "cannot be sized"),
    "less than none": ({"mass_kg": -2.0}, "cannot be sized"),
    "a lorry of it": ({"mass_kg": 900.0}, "cannot be sized"),
    "no number": ({"mass_kg": math.nan}, "cannot be sized"),
    "endless": ({"melt_s": math.inf}, "cannot be sized"),
    "warm water": ({"coolant_c": 27.0}, "coolant"),
    "a cable across the yard": ({"cable_m": 40.0}, "cable"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_unsafe_or_absurd_is_refused(case):
    """Each with a sentence that says what, and one that says what would do."""
    changes, words = REFUSED[case]
    with pytest.raises(InputError, match=words) as refused:
        size(Wanted(**{**vars(BUILDS["bench"]), **changes}))
    assert refused.value.remedy


@given(
    st.floats(0.1, 20), st.floats(0, 45), st.floats(60, 40_000), st.floats(60, 20_000),
    st.none() | st.integers(1, 2000),
)  # fmt: skip
def test_whatever_is_sized_is_safe(mass_kg, room_c, melt_s, cool_s, heater_w):
    """Any figures at all: refused, or fuse, wire, time to react and stirrer keep their rules."""
    try:
        wanted = Wanted(mass_kg, room_c, melt_s, cool_s, heater_w=heater_w)
        found = size(wanted)
    except InputError:
        return
    assert value_of(found, "fuse_a") >= 1.25 * value_of(found, "heater_a") - 1e-9
    assert sizing_wires.CARRIES_A[value_of(found, "wire_mm2")] >= value_of(found, "fuse_a")
    assert value_of(found, "react_s") >= reaction.LEAST_S
    assert value_of(found, "stir_least_nm") <= value_of(found, "stir_most_nm")
    assert found.heater_w <= 180


def test_a_cut_out_from_a_run_of_the_recommended_rig():
    """20 W, plate 27, 31, 33.6 degC: levels at 38.4; 75 W at 86.4; hottest 54: rated 65."""
    found = cut_out(BUILDS["bench"], 54.0, 20.0, levels_at_c([27.0, 31.0, 33.6]))
    assert levels_at_c([27.0, 31.0, 33.6]) == pytest.approx(38.43, abs=0.01)
    assert at_full_power_c(38.43, 21.0, 20.0, 75.0) == pytest.approx(86.4, abs=0.05)
    assert found.rated_c == 65.0
    with pytest.raises(InputError, match="run of 90 W"):
        cut_out(BUILDS["bench"], 54.0, 90.0, 38.4)
    with pytest.raises(InputError, match="level of the plate of 15"):
        cut_out(BUILDS["bench"], 54.0, 20.0, 15.0)


@pytest.mark.parametrize("build", BUILDS)
def test_the_first_cut_out_is_closed_at_20_w_and_opens_on_a_stuck_heater(build):
    """55 degC, link 72: early by 5 K and 3 closed at 20 W; late by as much open all the same."""
    found = size(BUILDS[build])
    rated_c = value_of(found, "first_cut_out_c")
    assert (rated_c, value_of(found, "first_link_c")) == (55.0, 72.0)
    assert value_of(found, "plate_20_w_c") <= rated_c - 8
    assert value_of(found, "plate_stuck_c") >= rated_c + 8


def test_where_the_plate_levels_out_worked_by_hand():
    """2 kg at 21 degC: 20 W, 21 + 14.29 + 1.33 = 36.6; 75 W, 21 + 53.57 + 5 = 79.6 degC."""
    assert sizing_heat.plate_levels_c(2.0, 21.0, UNPROVED_W) == pytest.approx(36.62, abs=0.01)
    assert sizing_heat.plate_levels_c(2.0, 21.0, 75) == pytest.approx(79.57, abs=0.01)
    assert BENCH_RIG.loss_w_per_k == sizing_heat.LOSS_W_PER_K
    assert BENCH_RIG.plate_w_per_k == sizing_heat.PLATE_W_PER_K


def test_where_no_cut_out_lies_between_the_rig_is_refused():
    """8 K under and over a usual rating must lie between the two levels; 55 is the least."""
    assert sizing_cutout.first_c(46.0, 64.0) == 55.0
    assert sizing_cutout.first_c(47.5, 68.0) == 60.0
    with pytest.raises(InputError, match="No cut-out to begin with"):
        sizing_cutout.first_c(50.0, 67.0)
    with pytest.raises(InputError, match="No cut-out to begin with"):
        sizing_cutout.first_c(98.0, 160.0)


def test_a_heater_that_no_cut_out_can_guard_is_passed_over():
    """2 kg in 90 min need 58 W: 60 W stuck on level at 67.9 degC, 65 is wanted; so 75 W."""
    wanted = Wanted(2.0, 21.0, 90 * 60, 45 * 60)
    assert not cut_out_fits(wanted, 60)
    assert size(wanted).heater_w == 75
    (caution,) = size(Wanted(2.0, 21.0, 90 * 60, 45 * 60, heater_w=60)).cautions
    assert "no cut-out lies between" in caution


def test_the_stirrer_stays_inside_what_the_supply_has_left():
    """2 kg: 30 turns with lumps take 13.9 W of 12; 25 take 10.3, torque x 2 pi turns / 0.5."""
    radius_m = sizing_heat.bowl_radius_m(2.0)
    assert stirrer(radius_m, radius_m, 30.0).with_lumps_w > STIRRER_W
    drive = stirrer(radius_m, radius_m, 25.0)
    assert drive.with_lumps_w == pytest.approx(3 * drive.power_w / 0.5)
    found = size(BUILDS["bench"])
    assert value_of(found, "turns_per_min") == 25
    assert value_of(found, "stir_w") == pytest.approx(10.3, abs=0.05) and STIRRER_W == 12


@pytest.mark.parametrize("build", BUILDS)
def test_a_sized_rig_is_described_as_its_board_takes_it(build):
    """Heater, sense and cooling as sized; the text is read back the same, the line made."""
    found = size(BUILDS[build])
    rig = described(f"{build} rig", BUILDS[build], found)
    cools = "coolant_w_per_k" if build == "pump" else "fan_w_per_k"
    assert (rig.heater_w, rig.has_sense) == (found.heater_w, True)
    assert rig.fan_loss_w_per_k == pytest.approx(value_of(found, cools), abs=0.005)
    assert rig.largest_mass_g == 1000 * BUILDS[build].mass_kg
    assert from_text(to_text(rig)) == rig
    assert rig.to_config_text().startswith(f"rig|2|{found.heater_w}|")
