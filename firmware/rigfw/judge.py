"""What the interlocks are asked in each state, and what follows. Allocates nothing.

The interlocks know limits and readings; this knows the states in which they count.
"""

from rigfw.interlocks import STOP_LOOP
from rigfw.numbers import BY_STIRRER, HANDS_IN, IN_STEP, OFF, READY, TESTING
from rigfw.witness import StallCheck, SwitchCheck

CAN_STOP = (READY, HANDS_IN, TESTING)
SWITCH_SHORTED = 12
EV_WARNED = 21
FAN_DEAD = 15
RELAY_WELDED = 14


class Judge:
    """Works on an App."""

    def __init__(self, app):
        self._app = app
        self._switch = SwitchCheck()
        self._stall = StallCheck()

    def judge(self, passed_ms):
        """One pass: stop, withhold heat, pause for hands."""
        app = self._app
        state_no = app.sequencer.state_no
        self._judge_switch(state_no, passed_ms)
        state_no = app.sequencer.state_no
        is_asked_for = state_no == READY and app.attend.asks_for_stop()
        if (
            app.inputs.stop_open
            and not is_asked_for
            and (IN_STEP[state_no] or state_no in CAN_STOP)
        ):
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
        self._ask(sequencer.target_mc, sequencer.step.wall_mc, in_pause, sequencer.kind, passed_ms)
        if in_pause or locks.stop_code:
            return
        if self._is_stalled(passed_ms):
            locks.before_mc = locks.product_mc  # where it stood: a stirrer moves no reading
            app.attend.pause(BY_STIRRER)
        elif locks.hands:
            app.attend.pause(locks.hands)

    def _is_stalled(self, passed_ms):
        app = self._app
        stir_permille = app.drive.outputs.stir_permille if app.config.has_tacho else 0
        return self._stall.is_stalled(stir_permille, app.inputs.stir_turning, passed_ms)

    def _judge_switch(self, state_no, passed_ms):
        """In every state: what lives although it is switched off needs a person."""
        app = self._app
        live = app.config.has_sense and app.inputs.heater_live
        proof = app.drive.proof
        if proof and proof.is_welded(live, passed_ms):
            app.lock("the heater's enable relay does not open: pull the plug", RELAY_WELDED)
            return
        if not self._switch.is_shorted(app.drive.outputs.heat_on, live, passed_ms):
            return
        if IN_STEP[state_no] or state_no in CAN_STOP:
            app.stop(SWITCH_SHORTED, 1)
        elif state_no == OFF:
            app.lock("the heater is live while it is off: pull the plug", SWITCH_SHORTED)

    def _test(self, passed_ms):
        """As in a batch; the ceiling is the rig's own, and hands end the test."""
        app = self._app
        self._ask(app.config.ceiling_mc, app.testing.plate_mc, False, "", passed_ms)
        if app.sequencer.state_no == TESTING and (app.interlocks.hands or app.attend.hands_seen()):
            app.off()

    def _ask(self, target_mc, wall_mc, in_pause, kind, passed_ms):
        app = self._app
        locks = app.interlocks
        locks.judge(app.readings, app.now_ms, passed_ms, target_mc, wall_mc, in_pause)
        if app.is_new_second and not in_pause:
            room_mc = app.readings.room_mc
            fan_permille = app.drive.outputs.fan_permille
            locks.each_second(app.delivered_permille, room_mc, target_mc, kind, fan_permille)
            if locks.seconds.is_fan_dead:
                app.journal.note(EV_WARNED, FAN_DEAD, locks.product_mc)
                app.drive.chime(3000)
        if locks.stop_code:
            app.stop(locks.stop_code, locks.stop_value)
        else:
            app.withheld.now(locks.withhold_code, locks.withhold_value, passed_ms)
