"""The start window: who opens it, and what the one press in it begins.

A request to start, a request for a test and the rig's own offer to carry on open the same window
and need the same fresh press. The last that opened it is the one that a press begins.
"""

from rigfw import limits
from rigfw.order import why_not_start


class Windows:
    """Works on an App."""

    def __init__(self, app):
        self._app = app

    def open_start(self, schedule):
        """The host asks for a batch."""
        self._opens()
        self._app.sequencer.open_window(schedule)

    def open_test(self, *allowed):
        """The host asks for a test: heat, fan, stirrer in permille, plate mC, seconds."""
        self._opens()
        self._app.testing.ask(*allowed)
        self._app.sequencer.open_test()

    def offer(self, progress):
        """After a reset the rig itself asks whether to go on with what was cut short."""
        app = self._app
        self._opens()
        app.resume.offered = progress
        app.testing.kept_ms = 0  # the rig's own: no host keeps it, and none lets it go
        app.sequencer.offer(app.desk.upload.held, progress.step_no, app.product_mc())

    def _opens(self):
        self._app.resume.offered = None
        self._app.resume.forget_stop()
        self._app.attend.people.window_opens()
        self._app.drive.chime(500)

    def press(self):
        """The press was right. Nothing begins when the rig got out of order since it was asked."""
        app = self._app
        schedule = app.sequencer.schedule
        if app.attend.asks_for_stop() or why_not_start(app, schedule):
            return
        app.begin(schedule.mass_g if schedule else limits.LEAST_MASS_G)
        if schedule:
            self._begin_batch(schedule)
        else:
            app.drive.begin(False)
            app.testing.begin()
            app.sequencer.start_test()

    def _begin_batch(self, schedule):
        app = self._app
        progress = app.resume.offered
        if progress:
            app.sequencer.carry_on(progress, app.product_mc())
        else:
            app.sequencer.start()
        app.drive.begin(schedule.start_state == "solid" and app.sequencer.kind == "melt")
