"""The row of a second, the flags in it, and what the display shows."""

from array import array

from rigfw.display import Display
from rigfw.journal import READING_WIDTH
from rigfw.numbers import IN_STEP, LOCKED
from rigwire import tables
from rigwire.messages import MISSING_MC


class Report:
    """Works on an App. `keep` and `show` allocate nothing."""

    def __init__(self, app):
        self._app = app
        self.display = Display()
        self._row = array("i", bytes(4 * READING_WIDTH))

    def keep(self, heat_permille):
        """The reading of this second into the journal. `heat_permille` is the granted demand."""
        app, row = self._app, self._row
        readings, outputs = app.readings, app.drive.outputs
        row[0] = app.now_ms
        row[1] = app.sequencer.state_no
        row[2] = app.sequencer.step_no
        row[3] = app.sequencer.target_mc
        row[4] = readings.product_mc
        row[5] = readings.plate_mc
        row[6] = readings.room_mc
        row[7] = heat_permille
        row[8] = outputs.fan_permille
        row[9] = outputs.stir_permille
        row[10] = self._flags()
        row[11] = readings.sample_mc
        app.journal.readings.append(row)

    def _flags(self):
        app, readings = self._app, self._app.readings
        flags = tables.FLAG_PRODUCT_MISSING if readings.product_mc == MISSING_MC else 0
        if readings.plate_mc == MISSING_MC:
            flags |= tables.FLAG_PLATE_MISSING
        if readings.room_mc == MISSING_MC:
            flags |= tables.FLAG_ROOM_MISSING
        if app.withheld.code:
            flags |= tables.FLAG_HEAT_WITHHELD
        return flags | self._flags_of_step()

    def _flags_of_step(self):
        app, sequencer = self._app, self._app.sequencer
        flags = tables.FLAG_PROMPT_WAITING if sequencer.wait_ms > 0 else 0
        if app.interlocks.addition_ms > 0:
            flags |= tables.FLAG_ADDITION_DECLARED
        if app.drive.is_stirrer_held:
            flags |= tables.FLAG_STIRRER_HELD
        if IN_STEP[sequencer.state_no] and sequencer.reached and sequencer.wait_ms <= 0:
            flags |= tables.FLAG_HOLDING
        return flags

    def show(self):
        """Fill the display's numbers and hand them to the board."""
        sequencer, display = self._app.sequencer, self.display
        display.product_mc = self._app.product_mc()
        display.state_no = sequencer.state_no
        display.prompt_no = sequencer.prompt_no
        display.value = sequencer.prompt_value() if sequencer.prompt_no else sequencer.target_mc
        display.left_s = sequencer.left_s()
        display.stop_code = sequencer.stop_code or self._app.resume.stopped_before
        display.words = self._app.lock_words if sequencer.state_no == LOCKED else ""
        self._app.board.show(display)
