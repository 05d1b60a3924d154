"""What the interlocks are asked in each state, and what follows from it."""

from fw_fakes import bench
from rigfw.drive import Drive
from rigfw.interlocks import STOP_LOOP
from rigfw.judge import EV_WARNED, FAN_DEAD, RELAY_WELDED, SWITCH_SHORTED, Judge
from rigfw.numbers import (
    BY_DOUBT,
    BY_STIRRER,
    HANDS_IN,
    IN_STEP,
    LOCKED,
    OFF,
    READY,
    STOPPED,
    TESTING,
    WORKING,
)
from rigfw.readings import Inputs, Readings
from rigwire.states import STATES

STEPS = [at for at in range(len(STATES)) if IN_STEP[at]]
WITH_POWER = STEPS + [READY, HANDS_IN, TESTING]
STEP_TARGET_MC, STEP_WALL_MC, RIG_CEILING_MC, TEST_WALL_MC = 31500, 36000, 55000, 50000


class _Locks:
    """The interlocks: say what the test says, keep what they were asked."""

    def __init__(self):
        self.stop_code = self.stop_value = self.withhold_code = self.withhold_value = 0
        self.hands = self.addition_ms = self.is_cold_expected = self.is_fan_dead = 0
        self.product_mc = 31000
        self.seconds = self
        self.asked = []
        self.each = []

    def judge(self, readings, now_ms, passed_ms, target_mc, wall_mc, in_pause):
        """Kept."""
        self.asked.append((now_ms, passed_ms, target_mc, wall_mc, bool(in_pause)))

    def each_second(self, heat_permille, room_mc, target_mc, kind, fan_permille):
        """Kept."""
        self.each.append((heat_permille, room_mc, target_mc, kind, fan_permille))


class _App:
    """All that a Judge works on; `said` has what it did, in order."""

    def __init__(self, state_no, **changes):
        self.said = []
        self.config = bench(**changes)
        self.drive = Drive(self.config, self)
        self.drive.chime = lambda ms: self.said.append(("chime", ms))
        self.inputs, self.readings, self.interlocks = Inputs(), Readings(), _Locks()
        self.readings.room_mc = 20000
        self.inputs.stop_open = 0
        self.sequencer = self.attend = self.testing = self
        self.journal = self.withheld = self.step = self
        self.state_no, self.kind = state_no, "work"
        self.target_mc, self.wall_mc, self.plate_mc = STEP_TARGET_MC, STEP_WALL_MC, TEST_WALL_MC
        self.is_new_second = True
        self.now_ms, self.delivered_permille = 5000, 370
        self.is_loop_asked = self.is_seed_awaited = self.are_hands_seen = False
        self._judge = Judge(self)

    def one_pass(self, passed_ms=250):
        """What was said in it, without what is withheld."""
        self.said = []
        self._judge.judge(passed_ms)
        return [row for row in self.said if row[0] != "withheld"]

    def asks_for_stop(self):
        """The person is asked to press stop."""
        return self.is_loop_asked

    def waits_for_seed(self):
        """A prompt for seed is open."""
        return self.is_seed_awaited

    def hands_seen(self):
        """Pedal or bowl."""
        return self.are_hands_seen

    def stop(self, code, value):
        """The rig stops."""
        self.said.append(("stop", code, value))
        self.state_no = STOPPED

    def lock(self, words, code):
        """The rig locks."""
        self.said.append(("lock", code))
        assert "pull the plug" in words

    def pause(self, cause):
        """The batch pauses."""
        self.said.append(("pause", cause))

    def off(self):
        """All off."""
        self.said.append(("off",))

    def note(self, *row):
        """The journal."""
        self.said.append(("note",) + row)

    def now(self, code, value, passed_ms):
        """What is withheld."""
        self.said.append(("withheld", code, value, passed_ms))


def test_an_open_stop_loop_stops_whatever_can_have_power():
    """In every step, ready, in a pause and in a test; elsewhere all is off already."""
    for state_no in range(len(STATES)):
        app = _App(state_no)
        assert app.one_pass() == [], STATES[state_no]
        app.inputs.stop_open = 1
        expected = [("stop", STOP_LOOP, 1)] if state_no in WITH_POWER else []
        assert app.one_pass() == expected, STATES[state_no]


def test_a_stop_loop_that_was_asked_for_does_not_stop():
    """Only while ready, where nothing is on: in a step it stops all the same."""
    for state_no in WITH_POWER:
        app = _App(state_no)
        app.is_loop_asked, app.inputs.stop_open = True, 1
        assert app.one_pass() == ([] if state_no == READY else [("stop", STOP_LOOP, 1)])


def test_a_step_is_judged_with_its_own_limits_and_a_test_with_the_rigs():
    """In a pause as in the step; elsewhere nothing is asked."""
    of_step = (5000, 250, STEP_TARGET_MC, STEP_WALL_MC, False)
    for state_no in range(len(STATES)):
        app = _App(state_no)
        app.one_pass()
        if state_no in STEPS:
            expected = [of_step]
        elif state_no == HANDS_IN:
            expected = [of_step[:4] + (True,)]
        elif state_no == TESTING:
            expected = [(5000, 250, RIG_CEILING_MC, TEST_WALL_MC, False)]
        else:
            expected = []
        assert app.interlocks.asked == expected, STATES[state_no]


def test_each_second_is_judged_once_and_not_in_a_pause():
    """With what the heater gave and what the fan was told; a test is of no kind."""
    for state_no, expected in (
        (WORKING, [(370, 20000, STEP_TARGET_MC, "work", 250)]),
        (TESTING, [(370, 20000, RIG_CEILING_MC, "", 250)]),
        (HANDS_IN, []),
    ):
        app = _App(state_no)
        app.drive.outputs.fan_permille = 250
        app.is_new_second = False
        app.one_pass()
        assert app.interlocks.each == []
        app.is_new_second = True
        app.one_pass()
        assert app.interlocks.each == expected


def test_what_stops_is_done_and_what_is_withheld_is_told():
    """One or the other, with its value; nothing withheld is told as well."""
    for state_no in (WORKING, HANDS_IN, TESTING):
        app = _App(state_no)
        app.interlocks.withhold_code, app.interlocks.withhold_value = 5, 33600
        app.one_pass()
        assert app.said == [("withheld", 5, 33600, 250)]
        app.interlocks.stop_code, app.interlocks.stop_value = 4, 36000
        app.one_pass()
        assert app.said == [("stop", 4, 36000)]


def test_hands_that_a_reading_shows_are_a_pause_in_a_step():
    """Asked for once; not in a pause, and not beside a stop."""
    app = _App(WORKING)
    app.interlocks.hands = BY_DOUBT
    assert app.one_pass() == [("pause", BY_DOUBT)]
    app.state_no = HANDS_IN
    assert app.one_pass() == []
    app.state_no = WORKING
    app.interlocks.stop_code = 4
    assert app.one_pass() == [("stop", 4, 0)]


def test_hands_end_a_test():
    """Those that a reading shows and those that pedal or bowl say; none, and it goes on."""
    assert _App(TESTING).one_pass() == []
    for field in ("hands", "seen"):
        app = _App(TESTING)
        if field == "hands":
            app.interlocks.hands = BY_DOUBT
        else:
            app.are_hands_seen = True
        assert app.one_pass() == [("off",)]
        app.interlocks.stop_code = 4
        assert app.one_pass() == [("stop", 4, 0)]  # stopped is not off


def test_pedal_and_bowl_are_not_asked_here_in_a_step():
    """The one that pauses for them is another."""
    app = _App(WORKING)
    app.are_hands_seen = True
    assert app.one_pass() == []


def test_cold_is_expected_after_seed_was_declared_and_while_it_is_awaited():
    """In seed, while a millisecond of the addition is left; in other steps only when awaited."""
    for kind, addition_ms, is_awaited, expected in (
        ("seed", 1, False, True),
        ("seed", 0, False, False),
        ("seed", -250, False, False),
        ("work", 1, False, False),
        ("seed", 0, True, True),
    ):
        app = _App(WORKING)
        app.kind, app.interlocks.addition_ms, app.is_seed_awaited = kind, addition_ms, is_awaited
        app.one_pass()
        assert bool(app.interlocks.is_cold_expected) == expected, (kind, addition_ms)


def test_a_dead_fan_is_told_and_heard_and_the_batch_goes_on():
    """Once for the second in which it is found."""
    app = _App(WORKING)
    assert app.one_pass() == []
    app.interlocks.is_fan_dead = 1
    assert app.one_pass() == [("note", EV_WARNED, FAN_DEAD, 31000), ("chime", 3000)]


def _stalled(app, most=20):
    """The passes until a pause by the stirrer, 0 for none."""
    for count in range(1, most + 1):
        if app.one_pass() == [("pause", BY_STIRRER)]:
            return count
    return 0


def test_a_driven_stirrer_that_does_not_turn_is_a_pause_after_3_s():
    """Twelve passes of 250 ms; never when it turns, is not driven, or has no tachometer."""
    for has_tacho, stir_permille, turning, expected in (
        (1, 1000, 0, 12),
        (1, 1000, 1, 0),
        (1, 0, 0, 0),
        (0, 1000, 0, 0),
    ):
        app = _App(WORKING, has_tacho=has_tacho)
        app.drive.outputs.stir_permille, app.inputs.stir_turning = stir_permille, turning
        assert _stalled(app) == expected


def test_a_stirrer_that_stalls_leaves_the_chocolate_where_it_stood():
    """What a much earlier pause began from does not make this one a fall."""
    app = _App(WORKING, has_tacho=1)
    app.drive.outputs.stir_permille = 1000
    app.interlocks.product_mc, app.interlocks.before_mc = 31500, 40000
    assert _stalled(app) == 12
    assert app.interlocks.before_mc == 31500


def test_the_stirrer_comes_before_other_hands():
    """It needs a press; a reading does not."""
    app = _App(WORKING, has_tacho=1)
    app.drive.outputs.stir_permille, app.interlocks.hands = 1000, BY_DOUBT
    assert _stalled(app) == 12


def _live(state_no, heat_on=0, has_sense=1, passes=2):
    """What is done in the last of so many passes with a live node."""
    app = _App(state_no, has_sense=has_sense)
    app.inputs.heater_live = 1
    app.drive.outputs.heat_on = heat_on
    for _ in range(passes - 1):
        assert app.one_pass() == []
    return app.one_pass()


def test_a_node_that_lives_while_off_for_500_ms_stops_or_locks():
    """Stopped where there may be power, locked in off, told before in the other states."""
    for state_no in range(len(STATES)):
        expected = []
        if state_no in WITH_POWER:
            expected = [("stop", SWITCH_SHORTED, 1)]
        elif state_no == OFF:
            expected = [("lock", SWITCH_SHORTED)]
        assert _live(state_no) == expected, STATES[state_no]
    assert _live(LOCKED, passes=8) == []


def test_a_node_that_lives_for_250_ms_or_by_heat_or_unsensed_is_no_short():
    """One pass; eight with the heater on; eight without the sense."""
    for state_no in (WORKING, OFF):
        assert _live(state_no, passes=1) == []
        assert _live(state_no, heat_on=1, passes=8) == []
        assert _live(state_no, has_sense=0, passes=8) == []


def test_a_dead_node_is_no_short():
    """Sensed, off and dead."""
    app = _App(WORKING, has_sense=1)
    for _ in range(8):
        assert app.one_pass() == []


def test_a_welded_relay_locks_before_a_shorted_switch_stops():
    """Live for 500 ms while the relay is tried: what must be replaced is the relay."""
    app = _App(WORKING, has_sense=1)
    app.drive.proof.begin()
    app.inputs.heater_live = 1
    assert app.one_pass() == []
    assert app.one_pass() == [("lock", RELAY_WELDED)]
    app = _App(WORKING, has_sense=1)
    app.drive.proof.begin()
    for _ in range(4):
        assert app.one_pass() == []


def test_what_was_stopped_for_its_switch_is_judged_no_further():
    """In the pass that stops it: neither its readings nor its open stop loop."""
    app = _App(WORKING, has_sense=1)
    app.inputs.heater_live = 1
    app.one_pass()
    app.inputs.stop_open = 1
    asked = len(app.interlocks.asked)
    assert app.one_pass() == [("stop", SWITCH_SHORTED, 1)]
    assert len(app.interlocks.asked) == asked
