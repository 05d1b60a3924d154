"""The row of a second, the flags in it, and what the display shows."""

from array import array

from rigfw import limits
from rigfw.display import LATE, LATE_BOWL, LATE_PEDAL, Display
from rigfw.journal import READING_WIDTH
from rigfw.numbers import (
    BY_BOWL,
    BY_PEDAL,
    BY_READING,
    HANDS_IN,
    IN_STEP,
    LOCKED,
    READY,
    SEED_IN,
)  # fmt: skip
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
        display.value = _figure(sequencer)
        display.left_s = _left_s(sequencer)
        display.stop_code = sequencer.stop_code or self._app.resume.stopped_before
        display.words = self._app.lock_words if sequencer.state_no == LOCKED else ""
        display.hands_no = self._hands_no() if sequencer.state_no == HANDS_IN else 0
        self._app.board.show(display)

    def _hands_no(self):
        """The row of display.HANDS_WORDS: what is so now, not only how the pause began."""
        sequencer, inputs = self._app.sequencer, self._app.inputs
        is_late = sequencer.hands_ms >= limits.HANDS_MS
        if inputs.pedal_down:
            return LATE_PEDAL if is_late else BY_PEDAL
        if not inputs.bowl_present:
            return LATE_BOWL if is_late else BY_BOWL
        if sequencer.hands_cause >= BY_READING:
            return sequencer.hands_cause
        return LATE if is_late else 0


def _figure(sequencer):
    """Beside a prompt grams of seed, else the target in mC; MISSING_MC where there is none."""
    step = sequencer.step
    if not sequencer.prompt_no:
        return sequencer.target_mc
    if not step:
        return MISSING_MC
    return step.grams if step.prompt == SEED_IN else step.target_mc


def _left_s(sequencer):
    """Seconds left of what runs now: window, wait or hold; -1 when nothing does."""
    if sequencer.state_no == READY:
        return sequencer.window_ms // 1000
    return sequencer.wait_ms // 1000 if sequencer.wait_ms > 0 else sequencer.hold_left_s()
