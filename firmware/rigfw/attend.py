"""The people at the rig: their wishes, their hands in the bowl, their seed.

Works on an App; allocates nothing.
"""

from rigfw import limits
from rigfw.dip import DipWatch
from rigfw.numbers import (
    BY_BOWL,
    BY_PEDAL,
    BY_PRESS,
    BY_READING,
    BY_STIRRER,
    HANDS_IN,
    IN_STEP,
    PRESS_STOP,
    READY,
    SEEDING,
)
from rigfw.order import is_cause_gone
from rigfw.people import CLEAR, HERE, NOTHING, START, STUCK, TURN_OFF, People
from rigfw.proof import StopProof
from rigwire.messages import MISSING_MC

BUTTON_STUCK = 19

EV_PROMPT = 4


class Attend:
    """`is_pause` is 1 in a hands_in that no pedal and no bowl declared."""

    def __init__(self, app):
        self._app = app
        self.people = People(app.journal)
        self._dip = DipWatch()
        is_proof_off = app.config.checks_off & limits.OFF_STOP_PROOF
        self.stop_proof = StopProof(app.journal, is_proof_off)
        self.is_pause = 0

    def begin_step(self):
        """A new step: earlier readings are no dip of it."""
        self._dip.clear()

    def step(self, passed_ms):
        """One pass: button, pedal, bowl, dip."""
        app, sequencer = self._app, self._app.sequencer
        self.stop_proof.step(app.inputs.stop_open, passed_ms)
        if sequencer.state_no == READY:
            self._ask_for_stop()
        wish = self.people.wish(app.inputs, sequencer.state_no, passed_ms)
        if wish != NOTHING:
            self._grant(wish)
        if IN_STEP[sequencer.state_no]:
            self._watch_hands_and_seed()
        elif sequencer.state_no == HANDS_IN:
            self._watch_return(passed_ms)

    def _ask_for_stop(self):
        sequencer = self._app.sequencer
        wanted = PRESS_STOP if self.asks_for_stop() else 0
        if wanted and not sequencer.prompt_no:
            self._app.journal.note(EV_PROMPT, PRESS_STOP)
        sequencer.prompt_no = wanted

    def asks_for_stop(self):
        """1 while a start waits for the stop button to be tried; not where a batch goes on."""
        return self.stop_proof.is_due and not self._app.resume.offered

    def _grant(self, wish):
        app = self._app
        if wish == START:
            app.windows.press()
        elif wish == TURN_OFF:
            app.off()
        elif wish == CLEAR:
            if is_cause_gone(app):
                app.sequencer.clear()
        elif wish == STUCK:
            app.lock("the start button is stuck", BUTTON_STUCK)
        else:
            app.interlocks.renew()
            app.resume.forget_stop()
            if wish == HERE:
                self._here()

    def _here(self):
        """A short press: ends a pause that waits for one, else answers the prompt."""
        sequencer = self._app.sequencer
        if sequencer.state_no == HANDS_IN:
            if not self.hands_seen():
                locks = self._app.interlocks
                is_far_down = locks.before_mc - locks.product_mc > limits.SEED_FALL_MC
                locks.seconds.witness.answered(locks.product_mc, is_far_down)
                self._return()
        elif sequencer.prompt_no and IN_STEP[sequencer.state_no]:
            sequencer.answer(BY_PRESS)

    def hands_seen(self):
        """True while the pedal is down or the bowl is off its plate."""
        inputs = self._app.inputs
        return inputs.pedal_down or not inputs.bowl_present

    def pause(self, cause):
        """The interlocks saw what looks like hands, or what only a person can judge."""
        self.is_pause = 1
        if cause == BY_STIRRER:
            self._app.interlocks.seconds.witness.needs_press = 1
        if cause != BY_READING:
            self._app.drive.chime(3000)
        self._app.sequencer.hands(cause)

    def _watch_hands_and_seed(self):
        app = self._app
        sequencer = app.sequencer
        if self.hands_seen():
            self.is_pause = 0
            sequencer.hands(BY_PEDAL if app.inputs.pedal_down else BY_BOWL)
        elif app.is_new_second and sequencer.state_no == SEEDING:
            self._watch_seed(app.product_mc())

    def _watch_seed(self, product_mc):
        sequencer = self._app.sequencer
        if sequencer.seeded or product_mc == MISSING_MC:
            return
        drop_mc = self._dip.second(product_mc)
        # Cooling comes to the target gently: what is far below without having been there was cold.
        is_there = sequencer.reached or product_mc < sequencer.target_mc - limits.REACHED_NEAR_MC
        if drop_mc and is_there:
            sequencer.notice_seed(drop_mc, product_mc)

    def _watch_return(self, passed_ms):
        """Back to the same step when the hands are out; after ten minutes only by a press."""
        app = self._app
        hands_ms = app.sequencer.hands_ms
        if hands_ms >= limits.HANDS_MS:
            if hands_ms % 60000 < passed_ms:
                app.drive.chime(1000)
        elif not self.hands_seen():
            if not self.is_pause or app.interlocks.settled(passed_ms):
                self._return()

    def _return(self):
        self._app.interlocks.after_pause(not self.is_pause)
        self.is_pause = 0
        self._app.sequencer.hands_out()
