"""The button, pass by pass: each length of a press one pass to either side, in every state."""

from rigfw.numbers import (
    FINISHED,
    HANDS_IN,
    IN_STEP,
    LOCKED,
    MELTING,
    OFF,
    READY,
    STOPPED,
    TESTING,
)
from rigfw.people import (
    CLEAR,
    EV_PRESS,
    HERE,
    NOTHING,
    PEDAL,
    START,
    STUCK,
    TURN_OFF,
    People,
)
from rigfw.readings import Inputs

STEPS = [at for at in range(len(IN_STEP)) if IN_STEP[at]]


class _Booth:
    """A person at a rig in one state; passes of 250 ms, if not said else."""

    def __init__(self, state_no):
        self.notes = []
        self.people = People(self)
        self.state_no = state_no
        self.inputs = Inputs()
        self.inputs.start_down = self.inputs.pedal_down = 0
        self.look()

    def note(self, *row):
        """Kept."""
        self.notes.append(row)

    def look(self, passed_ms=250):
        """One pass; the wish."""
        return self.people.wish(self.inputs, self.state_no, passed_ms)

    def press(self, held_ms):
        """Down, held for so long, up: the wishes that came, without NOTHING."""
        self.inputs.start_down = 1
        wishes = [self.look()]
        if held_ms > 250:
            wishes.append(self.look(held_ms - 250))
        self.inputs.start_down = 0
        wishes.append(self.look(min(held_ms, 250)))
        return [wish for wish in wishes if wish != NOTHING]


def test_a_start_is_held_for_1000_to_3000_ms():
    """One ms to either side says "I am here"."""
    for held_ms, wish in ((999, HERE), (1000, START), (3000, START), (3001, HERE)):
        booth = _Booth(READY)
        booth.people.window_opens()
        assert booth.press(held_ms) == [wish], held_ms
        assert booth.notes == [(EV_PRESS, held_ms)]


def test_only_a_press_that_began_after_the_window_starts():
    """Down when it opened: "I am here". The next one starts."""
    booth = _Booth(READY)
    booth.inputs.start_down = 1
    booth.look()
    booth.people.window_opens()
    booth.look(1250)
    booth.inputs.start_down = 0
    assert booth.look() == HERE
    assert booth.press(1500) == [START]


def test_what_a_short_press_means_in_each_state():
    """Stopped: clear. Test: end. Locked: nothing. Else: I am here."""
    wishes = {STOPPED: [CLEAR], TESTING: [TURN_OFF], LOCKED: []}
    for state_no in STEPS + [OFF, READY, HANDS_IN, FINISHED, STOPPED, TESTING, LOCKED]:
        booth = _Booth(state_no)
        assert booth.press(500) == wishes.get(state_no, [HERE]), state_no


def test_three_seconds_turn_a_batch_off_and_a_ms_less_does_not():
    """In every step, with hands in, and in a test; while it is still held."""
    for state_no in STEPS + [HANDS_IN, TESTING]:
        booth = _Booth(state_no)
        booth.inputs.start_down = 1
        booth.look()
        assert booth.look(2999) == NOTHING, state_no
        assert booth.look(1) == TURN_OFF, state_no
        assert booth.look(5000) == NOTHING, state_no
        booth.inputs.start_down = 0
        assert booth.look() == NOTHING, state_no


def test_a_long_press_turns_nothing_off_where_nothing_runs():
    """Off, ready, finished, stopped, locked: nothing while it is held."""
    for state_no in (OFF, READY, FINISHED, STOPPED, LOCKED):
        booth = _Booth(state_no)
        booth.inputs.start_down = 1
        booth.look()
        assert booth.look(10000) == NOTHING, state_no


def test_a_press_that_turned_off_is_used_and_the_next_is_not():
    """What was held does not also say "I am here"; a new press does."""
    booth = _Booth(MELTING)
    assert booth.press(3500) == [TURN_OFF]
    booth.state_no = OFF
    assert booth.press(500) == [HERE]
    booth.state_no = MELTING
    assert booth.press(3500) == [TURN_OFF]


def test_a_button_is_stuck_after_a_minute_and_not_a_ms_before():
    """Off, ready and finished; in stopped and locked it is nobody's."""
    for state_no in (OFF, READY, FINISHED):
        booth = _Booth(state_no)
        booth.inputs.start_down = 1
        booth.look()
        assert booth.look(59999) == NOTHING, state_no
        assert booth.look(1) == STUCK, state_no
    for state_no in (STOPPED, LOCKED):
        booth = _Booth(state_no)
        booth.inputs.start_down = 1
        booth.look()
        assert booth.look(70000) == NOTHING, state_no


def test_a_button_that_is_down_at_boot_is_stuck_too():
    """It was no press, and yet it does not come up."""
    people = People(_Booth(OFF))
    inputs = Inputs()
    inputs.start_down, inputs.pedal_down = 1, 0
    assert people.wish(inputs, OFF, 250) == NOTHING
    assert people.wish(inputs, OFF, 60000) == STUCK


def test_a_pedal_is_wished_once_as_it_goes_down():
    """Held it is no news; up and down again it is."""
    booth = _Booth(MELTING)
    assert booth.look() == NOTHING
    booth.inputs.pedal_down = 1
    assert [booth.look(), booth.look()] == [PEDAL, NOTHING]
    booth.inputs.pedal_down = 0
    assert booth.look() == NOTHING
    booth.inputs.pedal_down = 1
    assert booth.look() == PEDAL


def test_the_button_comes_before_the_pedal():
    """Both at once: the button's wish, and the pedal is no news afterwards."""
    booth = _Booth(MELTING)
    booth.inputs.start_down = booth.inputs.pedal_down = 1
    assert booth.look() == NOTHING
    booth.inputs.start_down = 0
    assert booth.look() == HERE
    assert booth.look() == NOTHING


def test_a_press_is_written_down_with_its_length_ten_minutes_at_most():
    """One note when it is let go, none before."""
    for held_ms, noted_ms in ((500, 500), (600000, 600000), (600001, 600000)):
        booth = _Booth(STOPPED)
        booth.press(held_ms)
        assert booth.notes == [(EV_PRESS, noted_ms)]


def test_whether_it_is_down_is_known():
    """While it is held, and not after."""
    booth = _Booth(OFF)
    assert booth.people.is_down() is False
    booth.inputs.start_down = 1
    booth.look()
    assert booth.people.is_down() is True
    booth.inputs.start_down = 0
    booth.look()
    assert booth.people.is_down() is False
