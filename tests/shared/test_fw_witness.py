"""What readings, senses and the heat say of each other: probe out, stuck, shorted, stalled."""

from fw_fakes import Plant, Rig, kinds
from rigfw import limits
from rigfw.config import ConfigRefused, RigConfig
from rigfw.plate import strongest_permille
from rigwire.schedule import Schedule, Step
from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOPS


class Bowl(Plant):
    """A plant whose probe can come out, whose switch can short, whose reading can stick."""

    def __init__(self, mass_g, start_c, room_c=21.0):
        Plant.__init__(self, mass_g, start_c, room_c)
        self.air_c = None
        self.is_shorted = self.is_stuck = False
        self.heat_w = 0.0
        self._kept_mc = 0

    def advance(self, board, passed_s):
        """As the plant. Heat flows through both switches; a probe in air is six times slower."""
        enabled = board.enable_edge != getattr(self, "edge", None)
        self.edge = board.enable_edge
        on = enabled and (board.heat_on or self.is_shorted)
        self.heat_w = 100.0 if on else 0.0
        board.heater_live = 1 if on else 0
        asked, board.heat_on = board.heat_on, 1 if on else 0
        probe_c = self.probe_c
        Plant.advance(self, board, passed_s)
        board.heat_on = asked
        if self.air_c is not None:
            self.probe_c = probe_c + passed_s * (self.air_c - probe_c) / (6 * self.lag_s)
            board.product_mc = int(self.probe_c * 16 + 0.5) * 1000 // 16
        if self.is_stuck:
            board.product_mc = self._kept_mc
        self._kept_mc = board.product_mc


def _only(step, mass_g=2000):
    return Schedule("Lantern 72", "kept", "in_temper", mass_g, 55000, [step])


def _holding(mass_g=2000, room_c=21.0, hold_s=600, **changes):
    """Working at 31.5 degC for some minutes already."""
    schedule = _only(Step("work", 31500, 7200, 1000, 36000), mass_g)
    rig = Rig(schedule=schedule, plant=Bowl(mass_g, 31.2, room_c), **changes)
    rig.start()
    rig.run(hold_s)
    assert rig.state() == "working", rig.state()
    return rig


def _is_1_k_wrong(rig):
    return rig.plant.product_c - rig.plant.probe_c > 1.0


def _causes(rig):
    hands = EVENT_NAMES.index("hands")
    return [row[2] for row in rig.events() if row[1] == hands]


def _stop(rig):
    return STOPS[rig.app.sequencer.stop_code][1]


def test_a_probe_that_slips_out_ends_heat_within_60_s_of_being_1_k_wrong():
    """Rooms from 21 to 28.5: the reading drifts off; a pause without heat, in doubt of it."""
    for mass_g in (500, 2000, 6000):
        for room_c in (21.0, 26.0, 28.5):
            _slips_out(mass_g, room_c)


def _slips_out(mass_g, room_c):
    rig = _holding(mass_g, room_c)
    rig.plant.air_c = room_c
    wrong_s = rig.run_until(_is_1_k_wrong, 200)
    found_s = rig.run_until(lambda one: one.state() == "hands_in", 60)
    assert _causes(rig)[-1] in (3, 5), (mass_g, room_c, wrong_s, found_s)
    assert (rig.board.heat_on, rig.board.stir_permille) == (0, 0)


def test_the_way_back_from_a_doubt_goes_by_the_plate():
    """The probe stays out: no heat for ten minutes, though the reading stands still."""
    rig = _holding(2000, 26.0)
    rig.plant.air_c = 26.0
    rig.run_until(lambda one: one.state() == "hands_in", 200)
    warmest_c = rig.plant.product_c
    for _ in range(4 * 590):
        rig.one_pass()
        assert (rig.state(), rig.board.heat_on) == ("hands_in", 0)
    assert rig.plant.product_c < warmest_c
    rig.plant.air_c = None
    rig.run(30)
    rig.press(0.5)
    rig.run(2)
    assert rig.state() == "working"


def test_a_doubt_that_is_pressed_away_leaves_a_third_of_the_heat_until_the_reading_rises():
    """The person says that all is well; if it is, the reading shows it within 1.5 K."""
    rig = _holding(2000, 26.0)
    rig.plant.air_c = 26.0
    rig.run_until(lambda one: _causes(one)[-1:] == [5], 400)
    rig.press(0.5)
    rig.run(30)
    assert (rig.state(), rig.app.interlocks.heat_limit_permille) == ("working", 300)
    rig.plant.air_c = None  # it is put back where it belongs
    rig.run_until(lambda one: one.state() == "working", 60)
    rig.run_until(lambda one: one.app.interlocks.heat_limit_permille == 1000, 60)


def test_a_step_that_ends_meanwhile_does_not_give_the_heat_back():
    """Melting on with the probe in air, pressed away, until the hold is over: rest has 30 %."""
    melt, rest = Step("melt", 48000, 20, 3000, 60000), Step("rest", 48000, 600, 3000, 60000)
    rig = Rig(schedule=Schedule("Lantern 72", "cooled", "liquid", 2000, 55000, [melt, rest]),
              plant=Bowl(2000, 47.9))  # fmt: skip
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.reached, 120)
    rig.plant.air_c = 20.0
    rig.run_until(lambda one: one.state() == "hands_in", 60)
    rig.run_until(lambda one: one.plant.probe_c < 25.0, 600)
    rig.press(0.5)
    rig.run_until(lambda one: one.state() == "resting", 60)
    rig.run(21)
    assert rig.app.interlocks.heat_limit_permille == 300
    rig.plant.air_c = None
    rig.run_until(lambda one: one.app.interlocks.heat_limit_permille == 1000, 120)


def test_a_great_fall_that_is_pressed_away_leaves_a_third_of_the_heat():
    """Molten at 40, a reading of 20 as in a room: no cold pieces do that and stay there."""
    rig = Rig(schedule=_only(Step("melt", 48000, 7200, 3000, 60000)), plant=Bowl(2000, 40.0),
              has_plate=0)  # fmt: skip
    rig.start()
    rig.run(60)
    rig.plant.air_c = 20.0
    rig.run_until(lambda one: one.state() == "hands_in", 60)
    rig.run(120)
    rig.press(0.5)
    rig.run(60)
    assert rig.app.interlocks.heat_limit_permille == 300
    rig.plant.air_c = None
    rig.run_until(lambda one: one.app.interlocks.heat_limit_permille == 1000, 120)


def test_a_cold_ladle_in_doubt_goes_on_by_itself():
    """Nobody declared it: a pause perhaps, and work again within five minutes, without a press."""
    rig = _holding(2000, 21.0)
    rig.plant.add(300, 20.0)
    rig.run(300)
    assert (rig.state(), _stop(rig)) == ("working", "none")


def test_healthy_holds_are_never_in_doubt():
    """An hour at 31.5 with losses half and twice as described: no pause, no stop."""
    for loss_w_per_k, mass_g, has_plate in (
        (0.5, 500, 1),
        (2.0, 500, 1),
        (1.8, 2000, 0),
        (1.0, 6000, 1),
    ):
        _holds(loss_w_per_k, mass_g, has_plate)


def _holds(loss_w_per_k, mass_g, has_plate):
    rig = _holding(mass_g, 17.0, 60, attended_limit_s=14400, has_plate=has_plate)
    rig.plant.loss_w_per_k = loss_w_per_k
    rig.run(3600)
    assert (rig.state(), _causes(rig)) == ("working", []), (loss_w_per_k, mass_g)


def test_a_shorted_switch_stops_by_its_heat():
    """No sense, the plate known: stopped within 120 s, before the chocolate is 1.5 K too warm."""
    for mass_g in (500, 1000, 2000, 3000):
        _shorted(mass_g)


def _hot_hold(mass_g):
    """Resting at 48 degC, where much heat is asked for, and the switch shorted just now; no sense,
    the plate known."""
    rest = _only(Step("rest", 48000, 7200, 1000, 60000), mass_g)
    rig = Rig(schedule=rest, plant=Bowl(mass_g, 47.9, 21.0))
    rig.start()
    rig.run(400)
    assert rig.state() == "resting", mass_g
    rig.plant.is_shorted = True
    return rig


def test_a_shorted_switch_in_a_hot_hold_stops_by_its_heat():
    """Within 120 s, before the chocolate is 1.5 K over its step."""
    for mass_g in (300, 500, 1000, 3000):
        rig = _hot_hold(mass_g)
        rig.run_until(lambda one: one.state() == "stopped", 120)
        assert _stop(rig) == "heat_unasked"
        assert rig.plant.product_c < 48.0 + 1.5, (mass_g, rig.plant.product_c)


def _shorted(mass_g):
    rig = _holding(mass_g)
    rig.plant.is_shorted = True
    stopped_s = rig.run_until(lambda one: one.state() == "stopped", 120)
    assert _stop(rig) in ("heat_unasked", "chocolate_hot"), stopped_s
    assert rig.plant.product_c < 31.5 + 1.5, (mass_g, rig.plant.product_c)
    rig.run(2)
    assert (rig.board.heat_on, rig.plant.heat_w) == (0, 0.0)


def test_a_shorted_switch_without_sense_and_plate_probe_never_drives_the_chocolate_1_5_k_over():
    """Nothing tells of it, but the relay opens whenever no heat is asked for: half an hour."""
    for mass_g in (250, 1000, 6000):
        rig = _holding(mass_g, 17.0, 300, has_plate=0)
        rig.plant.is_shorted = True
        highest_c = 0.0
        for _ in range(7200):
            rig.one_pass()
            if rig.plant.heat_w:
                highest_c = max(highest_c, rig.plant.product_c)
        assert 31.0 < highest_c < 31.5 + 1.5, (mass_g, highest_c)


def _demands_nothing(regulator):
    regulator.demand = lambda *_figures: regulator.rest()


def test_without_sense_and_plate_probe_the_relay_opens_2_s_after_the_last_heat_was_asked_for():
    """And closes with the next heat; where either watches it stays closed."""
    for fitted, most_s in (({"has_plate": 0}, 2), ({"has_plate": 1}, None),
                           ({"has_plate": 0, "has_sense": 1}, None)):  # fmt: skip
        rig = _holding(2000, **fitted)
        _demands_nothing(rig.app.regulator)
        rig.run_until(lambda one: one.app.regulator.heat_permille == 0, 2)
        edges = [rig.one_pass() or rig.board.enable_edge for _ in range(40)]
        gone = [at for at in range(12, 40) if edges[at] == edges[at - 1]]
        assert gone == (list(range(12, 40)) if most_s else []), fitted
        assert edges[5] != edges[4]
        rig.app.regulator.heat_permille = 300
        rig.one_pass()
        first = rig.board.enable_edge
        rig.one_pass()
        assert first != rig.board.enable_edge


def test_a_probe_that_is_not_described_is_none():
    """A plate or room probe that is plugged in all the same is neither judged nor told."""
    rig = Rig(has_plate=0, has_room=0)
    rig.board.has_plate = 1
    rig.run(3)
    readings = rig.app.readings
    assert (readings.plate_mc, readings.room_mc) == (-300000, -300000)
    assert readings.product_mc == 21000
    rig = Rig()
    rig.run(3)
    assert (rig.app.readings.plate_mc, rig.app.readings.room_mc) == (21000, 21000)


def test_warm_ladles_over_a_plate_that_is_no_warmer_are_not_heat_unasked():
    """2.4 K twice, slower than a ladle shows: heat would have come through the plate."""
    rig = _holding(700, 27.0)
    for _ in range(2):
        for _ in range(80):
            rig.plant.product_c += 0.03
            rig.plant.plate_c = min(rig.plant.plate_c, rig.plant.product_c)
            rig.run(1)
        rig.run(1)
    assert rig.state() == "working", _stop(rig)


def test_a_shorted_switch_that_is_sensed_stops_within_2_s():
    """The node is live while the switch is off: stopped, all off, and it says why."""
    rig = _holding(has_sense=1)
    rig.plant.is_shorted = True
    stopped_s = rig.run_until(lambda one: one.state() == "stopped", 2)
    assert (_stop(rig), stopped_s <= 2) == ("switch_shorted", True)


def test_a_heater_that_lives_while_all_is_off_locks():
    """Both switches closed, in off: nothing to turn off any more, so it locks and says so."""
    rig = Rig(has_sense=1)
    rig.run(2)
    rig.board.heater_live = 1
    rig.run(1)
    assert rig.state() == "locked"
    assert "pull the plug" in rig.app.lock_words


def test_a_sense_that_is_not_fitted_is_not_asked():
    """Its pin may say what it likes."""
    rig = Rig()
    rig.board.heater_live = 1
    rig.run(5)
    assert rig.state() == "off"


def test_a_stirrer_that_stands_still_ends_heat_within_3_s():
    """Driven and no pulse: a pause that only a press ends, heat and drive off."""
    rig = _holding(has_tacho=1)
    rig.board.stir_turning = 0
    found_s = rig.run_until(lambda one: one.state() == "hands_in", 4)
    assert found_s <= 3.25
    assert (_causes(rig)[-1], rig.board.heat_on, rig.board.stir_permille) == (4, 0, 0)
    rig.run(200)
    assert rig.state() == "hands_in"
    rig.board.stir_turning = 1
    rig.press(0.5)
    rig.run(2)
    assert rig.state() == "working"


def test_a_reading_that_repeats_while_the_plate_moves_is_in_doubt():
    """Stuck at 31.5 digit for digit, the plate swings by 2 K: in doubt within five minutes."""
    rig = _holding()
    rig.plant = None
    rig.board.product_mc = 31500
    for second in range(700):
        rig.board.plate_mc = 31600 + (1000 if second % 120 < 60 else -1000)
        rig.run(1)
        if rig.state() != "working":
            break
    assert second <= limits.REPEAT_S + 1  # sooner where the heat that goes in accuses it
    assert rig.state() in ("hands_in", "stopped")
    assert rig.board.heat_on == 0


def test_swapped_probes_stop_within_120_s_of_heat():
    """The plate's own heat is read as the chocolate's; the colder one stays behind: no_rise."""
    rig = Rig(schedule=_only(Step("melt", 48000, 3600, 3000, 60000)), plant=_Swapped(2000, 36.5))
    rig.start()
    rig.run_until(lambda one: one.state() == "stopped", 130)
    assert _stop(rig) == "no_rise"


class _Swapped(Plant):
    def advance(self, board, passed_s):
        """As the plant, the two probes crossed."""
        Plant.advance(self, board, passed_s)
        board.product_mc, board.plate_mc = board.plate_mc, board.product_mc


def test_strong_rigs_heat_little_chocolate_gently():
    """1500 W on 2 kg: 5 K take 34 s at least (calculated). 100 W on 0.25 kg: all of it."""
    strong = RigConfig(**_fields(heater_w=1500, plate_j_per_k=900, has_sense=1))
    permille = strongest_permille(strong, 2000, 0)
    j_per_k = 2000 * 1.59 + 900
    assert 33 <= 5 * j_per_k / (1500 * permille / 1000) <= 35
    assert strongest_permille(RigConfig(**_fields()), 250, 0) == 1000
    assert strongest_permille(RigConfig(**_fields()), 2000, 1800) == 500


def test_the_last_chocolate_gets_half_power():
    """2 kg, 1.8 kg of it poured: the demand is cut to 500 permille."""
    rig = _holding()
    rig.app.sequencer.declare(3, 1800)
    rig.run(200)
    assert rig.app.interlocks.heat_limit_permille == 500


def test_above_100_w_a_rig_must_sense_its_heater_and_its_plate():
    """101 W without the sense, or without a plate probe, is no rig."""
    for fitted, words in (({"has_sense": 0}, "sense"), ({"has_plate": 0}, "plate probe")):
        assert words in _refusal(heater_w=101, **dict({"has_sense": 1}, **fitted))
    assert _refusal(heater_w=101, has_sense=1) == ""
    assert _refusal(heater_w=100, has_plate=0) == ""


def test_above_100_w_a_plate_must_be_heavy_enough_to_be_switched_off_in_time():
    """All heat for 3 s: sensed in 2, the relay falls in 1. 200 W warm 120 J/K by 5 K, not 119."""
    for heater_w, plate_j_per_k, is_fit in (
        (200, 120, True), (200, 119, False), (2000, 1200, True), (2000, 1199, False),
        (100, 20, True), (101, 60, False), (101, 61, True),
    ):  # fmt: skip
        refusal = _refusal(heater_w=heater_w, plate_j_per_k=plate_j_per_k, has_sense=1)
        expected = "" if is_fit else "the plate is too light for its heater"
        assert refusal == expected, (heater_w, plate_j_per_k)


def test_a_plate_of_a_strong_rig_never_passes_its_limit_by_5_k():
    """2 kW, demanded for ever; as light a plate as may be, its probe 4 s late, 1 s a reading."""
    for plate_j_per_k in (1200, 3000):
        rig = _holding(6000, heater_w=2000, plate_j_per_k=plate_j_per_k, has_sense=1, hold_s=2)
        rig.plant = None
        probe_c = plate_c = 31.5
        for _ in range(4 * 120):
            rig.app.regulator.demand = _demands_all(rig.app.regulator)
            rig.board.product_mc = 31500
            rig.board.plate_mc = int(probe_c * 1000)
            rig.one_pass()
            heat_w = 2000.0 if rig.board.heat_on else 0.0
            plate_c += 0.25 * (heat_w - 15.0 * (plate_c - 31.5)) / plate_j_per_k
            probe_c += 0.25 * (plate_c - probe_c) / 4.0
            assert plate_c < 36.0 + 5.0, plate_j_per_k


def _demands_all(regulator):
    def demand(*_figures):
        regulator.heat_permille = 1000

    return demand


def _refusal(**changes):
    try:
        RigConfig(**_fields(**changes))
    except ConfigRefused as refusal:
        return refusal.reason
    return ""


def _fields(**changes):
    from fw_fakes import BENCH

    fields = dict(BENCH)
    fields.update(changes)
    return fields


def test_pauses_in_doubt_are_told():
    """The journal has the cause; the state is one of the table."""
    rig = _holding(2000, 26.0)
    rig.plant.air_c = 26.0
    rig.run_until(lambda one: one.state() == "hands_in", 200)
    assert "hands" in kinds(rig)
    assert STATES[rig.app.sequencer.state_no] == "hands_in"


def _seeding(mass_g, room_c, **changes):
    step = Step("seed", 33500, 7200, 1000, 36000, 2, 1800, mass_g // 10)
    rig = Rig(schedule=_only(step, mass_g), plant=Bowl(mass_g, 33.4, room_c), **changes)
    rig.start()
    rig.run(120)
    rig.plant.air_c = room_c
    return rig


def test_a_probe_out_while_seed_is_due_moves_the_chocolate_by_less_than_1_5_k():
    """It looks like the seed, and more than it: a pause that no standing reading ends, no heat."""
    for has_plate in (0, 1):
        for mass_g, room_c in ((250, 17.0), (2000, 17.0), (2000, 29.0), (6000, 29.0)):
            rig = _seeding(mass_g, room_c, has_plate=has_plate)
            warmest_c, state = rig.plant.product_c, ""
            for _ in range(4 * 500):
                rig.one_pass()
                warmest_c = max(warmest_c, rig.plant.product_c)
                state = rig.state() if rig.state() == "hands_in" else state
            assert state == "hands_in", (has_plate, mass_g, room_c)
            assert warmest_c < 33.5 + 1.5, (has_plate, mass_g, room_c, warmest_c)


def test_a_quarter_of_cold_seed_is_no_probe_out():
    """3.7 K within seconds, no latent heat: seed noticed, no pause, work goes on."""
    for has_plate in (0, 1):
        rig = _seeding(2000, 17.0, has_plate=has_plate)
        rig.plant.air_c = None
        rig.run(30)
        rig.plant.add(500, 15.0)
        rig.run(600)
        assert (rig.state(), _causes(rig)) == ("seeding", []), has_plate
        assert "dip" in kinds(rig)
