"""What the interlocks are asked in each state, and what follows. Allocates nothing.

The interlocks know limits and readings; this knows the states in which they count.
"""

from rigfw.interlocks import STOP_LOOP
from rigfw.numbers import HANDS_IN, IN_STEP, READY, TESTING

CAN_STOP = (READY, HANDS_IN, TESTING)
COOLING = ("cool", "seed")


class Judge:
    """Works on an App."""

    def __init__(self, app):
        self._app = app

    def judge(self, passed_ms):
        """One pass: stop, withhold heat, pause for hands."""
        app = self._app
        state_no = app.sequencer.state_no
        if app.inputs.stop_open and (IN_STEP[state_no] or state_no in CAN_STOP):
            app.stop(STOP_LOOP, 1)
        elif IN_STEP[state_no] or state_no == HANDS_IN:
            self._batch(state_no == HANDS_IN, passed_ms)
        elif state_no == TESTING:
            self._test(passed_ms)

    def _batch(self, in_pause, passed_ms):
        app = self._app
        locks, sequencer = app.interlocks, app.sequencer
        in_seed = sequencer.kind == "seed" and locks.addition_ms > 0
        locks.is_cold_expected = in_seed or sequencer.waits_for_seed()
        heating = sequencer.kind not in COOLING
        self._ask(sequencer.target_mc, sequencer.step.wall_mc, in_pause, heating, passed_ms)
        if locks.hands and not in_pause and not locks.stop_code:
            app.attend.pause()

    def _test(self, passed_ms):
        """As in a batch; the ceiling is the rig's own, and hands end the test."""
        app = self._app
        self._ask(app.config.ceiling_mc, app.testing.plate_mc, False, False, passed_ms)
        if app.sequencer.state_no == TESTING and (app.interlocks.hands or app.attend.hands_seen()):
            app.off()

    def _ask(self, target_mc, wall_mc, in_pause, is_heating_step, passed_ms):
        app = self._app
        locks = app.interlocks
        locks.judge(app.readings, app.now_ms, passed_ms, target_mc, wall_mc, in_pause)
        if app.is_new_second and not in_pause:
            room_mc = app.readings.room_mc
            locks.each_second(app.delivered_permille, room_mc, target_mc, is_heating_step)
        if locks.stop_code:
            app.stop(locks.stop_code, locks.stop_value)
        else:
            app.withheld.now(locks.withhold_code, locks.withhold_value, passed_ms)
