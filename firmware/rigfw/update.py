"""Other firmware for the board: asked for by the host, allowed by a press, in off or locked only.

A fresh press held 1 to 3 s inside the window leaves a mark that counts for one boot, and restarts
the board. That boot leaves every output off and starts neither program nor watchdog, so that files
can be changed at the MicroPython prompt. A board at its prompt can be told anything: only the
cut-out and the enable circuit protect then, and the heater's supply should be off.
"""

from rigfw import limits
from rigfw.button import Button
from rigfw.numbers import LOCKED, OFF

MARK = "update"
MARK_TEXT = b"once"
WHERE = (OFF, LOCKED)


class Update:
    """The window for an update; works beside the sequencer, which stays where it is."""

    def __init__(self, board):
        self._board = board
        self._button = Button()
        self._asked_after = 0
        self._left_ms = 0
        self._seen_ms = None

    def can_restart(self):
        """False where there is nothing to restart or to keep a mark in: a simulated rig."""
        return bool(getattr(self._board, "restart", None) and getattr(self._board, "keep", None))

    def is_asked(self):
        """True while the window is open."""
        return self._left_ms > 0

    def ask(self):
        """Open the window. A press that is under way does not count."""
        self._left_ms = limits.WINDOW_MS
        self._asked_after = self._button.number

    def after_pass(self, app):
        """Look at the button once a pass; leaves the mark and restarts after the right press."""
        seen_ms = app.now_ms if self._seen_ms is None else self._seen_ms
        passed_ms = app.clock.diff(app.now_ms, seen_ms)
        self._seen_ms = app.now_ms
        let_go = self._button.step(app.inputs.start_down, passed_ms)
        if not self._left_ms:
            return
        self._left_ms = max(0, self._left_ms - passed_ms)
        if app.sequencer.state_no not in WHERE:
            self._left_ms = 0
        elif let_go and self._is_right():
            self._left_ms = 0
            self._begin(app)

    def _is_right(self):
        button = self._button
        fresh = button.number > self._asked_after
        return (
            fresh and limits.PRESS_START_LEAST_MS <= button.held_ms <= limits.PRESS_START_MOST_MS
        )

    def _begin(self, app):
        """All off first; without its mark on the flash the board is not restarted."""
        app.all_off()
        if self._board.keep.write(MARK, MARK_TEXT):
            self._board.restart()
