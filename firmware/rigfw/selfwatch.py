"""The program watches itself: memory, passes that come late, its clock against the host's.

Works on an App. Memory and late passes end in a stop, because what is wrong with the program is
wrong with every check. A wrong clock does not: heat does not hang on it, so the batch goes on with
a word, and the next one does not begin. `second` and `late` allocate nothing.
"""

from rigfw import limits
from rigfw.numbers import HANDS_IN, IN_STEP, READY, TESTING

MEMORY_LOW = 17
LOOP_SLOW = 18
CLOCK_OFF = 16
EV_CHECKS_OFF = 22
EV_WARNED = 21
CAN_STOP = (READY, HANDS_IN, TESTING)


class SelfWatch:
    """`clock_permille` is how far the two clocks were apart when judged, 0 while they agree."""

    def __init__(self, app):
        self._app = app
        self._late_passes = self._calm_ms = 0
        self.clock_permille = 0
        self._beat_at_ms = self._beat_host_ms = -1
        self._own_ms = self._host_ms = 0

    def begin(self):
        """The rig or a batch begins: checks that are off are told, loudly, and written down."""
        checks_off = self._app.config.checks_off
        if checks_off:
            self._app.journal.note(EV_CHECKS_OFF, checks_off)
            self._app.drive.chime(3000)

    def passed(self, passed_ms):
        """One pass that began `passed_ms` after the one before."""
        if passed_ms < limits.LATE_PASS_MS:
            self._calm_ms += passed_ms
            if self._calm_ms >= limits.LATE_FORGET_MS:
                self._late_passes = 0
            return
        self._calm_ms = 0
        self._late_passes += 1
        if self._late_passes >= limits.LATE_MOST:
            self._late_passes = 0
            self._stop(LOOP_SLOW, passed_ms)

    def second(self):
        """Once a second: what is left of the memory."""
        free_bytes = self._app.board.free_bytes()
        if free_bytes < limits.MEMORY_FLOOR_BYTES:
            self._stop(MEMORY_LOW, free_bytes)

    def _stop(self, code, value):
        state_no = self._app.sequencer.state_no
        if IN_STEP[state_no] or state_no in CAN_STOP:
            self._app.stop(code, value)

    def beat(self, host_ms):
        """The host's own steady clock. Judged over minutes of beats without a hole."""
        app = self._app
        own_ms = app.clock.diff(app.now_ms, self._beat_at_ms)
        host_passed_ms = host_ms - self._beat_host_ms
        is_first = self._beat_at_ms < 0
        self._beat_at_ms, self._beat_host_ms = app.now_ms, host_ms
        if is_first or host_passed_ms <= 0 or own_ms > limits.BEAT_LONGEST_MS:
            self._own_ms = self._host_ms = 0
            return
        self._own_ms += own_ms
        self._host_ms += host_passed_ms
        if self._host_ms >= limits.BEAT_WINDOW_MS:
            self._judge_clock()

    def _judge_clock(self):
        """Roughly from a minute on, finely after five; then all begins anew."""
        permille = 1000 * (self._own_ms - self._host_ms) // self._host_ms
        is_long = self._host_ms >= limits.BEAT_LONG_MS
        allowed = limits.BEAT_LONG_PERMILLE if is_long else limits.BEAT_PERMILLE
        if is_long:
            self._own_ms = self._host_ms = 0
        if -allowed <= permille <= allowed:
            if is_long:
                self.clock_permille = 0
            return
        self._own_ms = self._host_ms = 0
        if not self.clock_permille:
            self._app.journal.note(EV_WARNED, CLOCK_OFF, permille)
            self._app.drive.chime(3000)
        self.clock_permille = permille
