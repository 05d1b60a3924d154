"""Carrying on after a reset: keeps how far a batch has come, and offers to go on with it.

A batch is never carried on by itself. The rig opens the start window, and only a fresh press in
it goes on. A record is written in a pass whose heater is off, because a flash write may stop
the program for 400 ms.
"""

from rigfw import limits
from rigfw.kept import Progress, may_carry_on
from rigfw.numbers import HANDS_IN, IN_STEP, LOCKED, OFF, READY, STOPPED
from rigfw.order import why_not_start
from rigwire.messages import MISSING_MC


class Resume:
    """Works on an App. `offered` is the Progress that a press would go on with, or None.

    `stopped_before` is the code of what had stopped the rig when a reset came, 0 for nothing or
    once somebody pressed.
    """

    def __init__(self, app, kept):
        self._app = app
        self._kept = kept
        self.offered = None
        self.wants_quiet = 0
        self.stopped_before = self._kept_stop = kept.stop_code()
        self._found = kept.progress()
        self._found_ms = 0
        self._step_no = self._reached = self._seeded = 0
        self._start_mc = MISSING_MC
        self._age_ms = 0
        self._due_ms = -1

    def after_pass(self, passed_ms):
        """The last thing of a pass. May allocate; writes only where the heater is off."""
        state_no = self._app.sequencer.state_no
        if state_no in (OFF, STOPPED, LOCKED):
            self._keep_stop(self.stopped_before or self._app.sequencer.stop_code)
        if IN_STEP[state_no] or state_no == HANDS_IN:
            self._in_batch(passed_ms)
        elif self._found is not None:
            self._consider(state_no, passed_ms)
        elif state_no != READY or not self.offered:
            self._forget()

    def forget_stop(self):
        """Somebody is there, and has seen what it was."""
        self.stopped_before = 0

    def _keep_stop(self, stop_code):
        if stop_code != self._kept_stop:
            self._kept_stop = stop_code
            self._kept.keep_stop(stop_code)

    # In a batch.

    def _in_batch(self, passed_ms):
        sequencer = self._app.sequencer
        self._found = self.offered = None
        self._age_ms += passed_ms
        if sequencer.step_no != self._step_no:
            self._start_mc = self._app.product_mc()
            self._due_ms = 0
        elif sequencer.reached != self._reached or sequencer.seeded != self._seeded:
            self._due_ms = 0
        elif self._due_ms < 0 and self._is_holding() and self._age_ms >= limits.PROGRESS_MS:
            self._due_ms = 0
        self._step_no = sequencer.step_no
        self._reached = sequencer.reached
        self._seeded = sequencer.seeded
        if self._due_ms >= 0:
            self._write_when_quiet(passed_ms)

    def _is_holding(self):
        """Only a hold has a clock whose state is worth a write now and then."""
        sequencer = self._app.sequencer
        return sequencer.reached and sequencer.wait_ms <= 0

    def _write_when_quiet(self, passed_ms):
        """Waits for a pass without heat; after a while asks for one."""
        app, sequencer = self._app, self._app.sequencer
        self._due_ms += passed_ms
        self.wants_quiet = 1 if self._due_ms >= limits.PROGRESS_WAIT_MS else 0
        if app.drive.outputs.heat_on:
            return
        self.wants_quiet = 0
        self._due_ms = -1
        self._age_ms = 0
        held_s = sequencer.held_ms // 1000
        figures = (sequencer.step_no, sequencer.reached, sequencer.seeded, held_s)
        self._kept.keep_progress(Progress(app.desk.upload.digest, *figures, self._start_mc))

    def _forget(self):
        """The batch is over, or was not taken up."""
        if self._step_no:
            self._app.memory.keep_of(self._app.regulator)
        self.offered = None
        self.wants_quiet = 0
        self._step_no = 0
        self._age_ms = 0
        self._due_ms = -1
        self._kept.clear()

    # After a reset.

    def _consider(self, state_no, passed_ms):
        """Offer once the chocolate can be read; not when somebody already asked for a start."""
        app = self._app
        self._found_ms += passed_ms
        if state_no != OFF or self._found_ms > limits.CARRY_WAIT_MS:
            self._found = None
            return
        if app.product_mc() == MISSING_MC or why_not_start(app):
            return
        found, self._found = self._found, None
        if self._fits(found, app.product_mc()):
            self.offered = found
            app.windows.offer(found)

    def _fits(self, found, product_mc):
        upload = self._app.desk.upload
        schedule = upload.held
        if schedule is None or found.digest != upload.digest:
            return False
        if not 1 <= found.step_no <= len(schedule.steps):
            return False
        return may_carry_on(schedule.steps[found.step_no - 1], found, product_mc)
