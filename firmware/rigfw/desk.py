"""What the host may ask of the rig, one method a request. It can ask, never press."""

from rigfw.link import Refusal
from rigfw.numbers import BY_HOST, FINISHED, IN_STEP, LOCKED, OFF, READY, STOPPED, TESTING
from rigfw.order import why_not_start
from rigfw.regulator import Regulator
from rigfw.update import Update
from rigfw.upload import Upload
from rigfw.version import __version__
from rigwire import messages

EV_LOADED = 14
LEARNED = 2  # in the place of a slot: no schedule


class Desk:
    """Requests of the host, checked against the state of the rig. Raises Refusal."""

    def __init__(self, app):
        self._app = app
        self.upload = Upload()
        self.update = Update(app.board)

    def identity(self):
        """The values of `hello_is`."""
        app = self._app
        readings, events = app.journal.readings, app.journal.events
        return (
            messages.PROTOCOL_MAJOR,
            messages.PROTOCOL_MINOR,
            __version__,
            app.board.board_id,
            app.board.boot_nonce,
            self.upload.digest,
            app.sequencer.state_no,
            app.config.ceiling_mc,
            app.config.heater_w,
            readings.oldest(),
            readings.newest(),
            events.oldest(),
            events.newest(),
            app.board.simulated,
        )

    def status(self):
        """The values of `status`."""
        app = self._app
        sequencer = app.sequencer
        return (
            sequencer.state_no,
            sequencer.step_no,
            sequencer.hold_left_s(),
            sequencer.prompt_no,
            sequencer.wait_ms // 1000 if sequencer.wait_ms > 0 else -1,
            sequencer.window_ms // 1000 if sequencer.state_no == READY else -1,
            sequencer.stop_code,
            app.withheld.code,
            app.link.dropped,
        )

    def check_quiet(self):
        """A schedule may only change while nothing runs or is about to."""
        if self._app.sequencer.state_no not in (OFF, FINISHED, STOPPED, LOCKED):
            raise Refusal("busy", "the rig is busy: turn it off first")

    def load_open(self, bytes_total, digest):
        """Begin an upload."""
        self.check_quiet()
        self.upload.open(bytes_total, digest)

    def load_part(self, offset, text):
        """The next piece of it."""
        self.check_quiet()
        self.upload.part(offset, text)

    def load_done(self, digest):
        """Commit it as the schedule held; the answer."""
        self.check_quiet()
        app, upload = self._app, self.upload
        count = upload.done(digest, app.config.ceiling_mc, app.kept.keep_slot)
        app.journal.note(EV_LOADED, upload.slot, count)
        return "held", (digest,), ()

    def load_learned(self, digest):
        """What a host learned of this rig: the regulator begins its next batch with it."""
        self.check_quiet()
        app, text = self._app, self.upload.whole(digest)
        app.regulator = Regulator(app.config, app.memory.take(text))
        app.journal.note(EV_LOADED, LEARNED, len(text))

    def ask_start(self, digest):
        """Open the start window for the schedule held, if the rig is in order."""
        self._check_idle()
        if self.upload.held is None or digest != self.upload.digest:
            raise Refusal("digest", "the rig holds another schedule: load it again")
        self._check_order(self.upload.held)
        self._app.windows.open_start(self.upload.held)

    def _check_idle(self):
        state_no = self._app.sequencer.state_no
        if state_no == LOCKED:
            raise Refusal("locked", "the rig is locked: " + self._app.lock_words[:50])
        if state_no == STOPPED:
            raise Refusal("stopped", "the rig is stopped: press its button to clear it")
        if state_no not in (OFF, READY, FINISHED):
            raise Refusal("busy", "the rig is busy: turn it off first")

    def _check_order(self, schedule):
        words = why_not_start(self._app, schedule)
        if words:
            raise Refusal("not_in_order", words)

    def ask_test(self, *allowed):
        """Open the window for a test: heat, fan, stirrer in permille, plate mC, seconds."""
        self._check_idle()
        if allowed[3] > self._app.config.plate_ceiling_mc:
            raise Refusal("ceiling", "the plate may not get that hot on this rig")
        self._check_order(None)
        self._app.windows.open_test(*allowed)

    def ask_update(self):
        """Open the window for other firmware: in off or locked, and never by itself."""
        if self._app.sequencer.state_no not in (OFF, LOCKED):
            raise Refusal("busy", "the rig is busy: turn it off first")
        if not self.update.can_restart():
            raise Refusal("not_here", "this rig has no files that could be changed")
        self.update.ask()
        self._app.drive.chime(500)

    def lease(self, *powers):
        """Drive these powers for a while, within what the press allowed; without a test, say that
        the host is there."""
        app = self._app
        if app.sequencer.state_no != TESTING:
            if not app.resume.offered:  # that window is the rig's own
                app.testing.keep_window()
            raise Refusal("no_test", "no test is running")
        if not app.testing.allows(*powers):
            raise Refusal("over_the_press", "the press allowed less than that")
        app.testing.lease(*powers)

    def off(self):
        """Always works."""
        self._app.off()

    def answer(self, prompt_no):
        """The host's person answers the prompt that shows."""
        sequencer = self._app.sequencer
        if prompt_no != sequencer.prompt_no or not IN_STEP[sequencer.state_no]:
            raise Refusal("no_prompt", "the rig does not ask that now")
        sequencer.answer(BY_HOST)

    def beat(self, host_ms):
        """The host's clock goes on."""
        self._app.watch.beat(host_ms)

    def declare(self, addition_no, grams):
        """Something goes in or out: wider checks for a while."""
        if not IN_STEP[self._app.sequencer.state_no]:
            raise Refusal("no_batch", "no batch is running")
        self._app.sequencer.declare(addition_no, grams)
