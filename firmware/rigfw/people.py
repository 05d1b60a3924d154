"""What people do at the rig: the start button, the pedal, the bowl.

A short press answers a prompt or says "I am here"; in the start window a fresh press held 1 to
3 s starts; any press ends a test; in a batch one held for 3 s or more turns all off; in `stopped`
any press clears, if the cause is gone. A press does one of these, never two. Allocates nothing.
"""

from rigfw import limits
from rigfw.button import Button
from rigfw.numbers import FINISHED, HANDS_IN, IN_STEP, LOCKED, OFF, READY, STOPPED, TESTING

EV_PRESS = 12

NOTHING = 0
START = 1
CLEAR = 2
TURN_OFF = 3
HERE = 4
STUCK = 5
PEDAL = 6

MAY_TURN_OFF = (HANDS_IN, TESTING)
CAN_LOCK = (OFF, READY, FINISHED)


class People:
    """Turns contacts into one wish a pass: NOTHING, START, CLEAR, TURN_OFF, HERE, PEDAL, STUCK."""

    def __init__(self, journal):
        self._journal = journal
        self._button = Button()
        self._used = 0
        self._asked_after = 0
        self._pedal_down = 0

    def window_opens(self):
        """Only a press that begins from now on may start."""
        self._asked_after = self._button.number

    def is_down(self):
        """True while the start button is held."""
        return bool(self._button.down)

    def wish(self, inputs, state_no, passed_ms):
        """What the person at the rig wants now."""
        button = self._button
        was_down = button.down
        let_go = button.step(inputs.start_down, passed_ms)
        if button.down and not was_down:
            self._used = 0
        pedal_now = inputs.pedal_down and not self._pedal_down
        self._pedal_down = inputs.pedal_down
        if let_go:
            self._journal.note(EV_PRESS, min(button.held_ms, 600000))
            return self._let_go(state_no, button)
        if button.down:
            return self._holding(state_no, button)
        return PEDAL if pedal_now else NOTHING

    def _holding(self, state_no, button):
        in_batch = IN_STEP[state_no] or state_no in MAY_TURN_OFF
        if in_batch and not self._used and button.held_ms >= limits.PRESS_START_MOST_MS:
            self._used = 1
            return TURN_OFF
        if button.held_ms >= limits.PRESS_STUCK_MS and state_no in CAN_LOCK:
            return STUCK
        return NOTHING

    def _let_go(self, state_no, button):
        if self._used:
            return NOTHING
        self._used = 1
        if state_no == STOPPED:
            return CLEAR
        if state_no == TESTING:
            return TURN_OFF
        if state_no != READY:
            return NOTHING if state_no == LOCKED else HERE
        fresh = button.number > self._asked_after
        least, most = limits.PRESS_START_LEAST_MS, limits.PRESS_START_MOST_MS
        return START if fresh and least <= button.held_ms <= most else HERE
