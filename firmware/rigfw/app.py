"""The firmware: one pass of the loop every 250 ms, and one path that turns everything off.

read -> judge -> step -> regulate -> write -> report. `judge`, `step` and `write` allocate
nothing. Any exception in a pass ends in all off and `stopped`; after a reset nothing heats until
a person presses. The watchdog is kicked by `write`, so only a pass that got there counts.
"""

from rigfw import limits
from rigfw.attend import Attend
from rigfw.config import RigConfig
from rigfw.desk import Desk
from rigfw.drive import Drive
from rigfw.interlocks import PROBE_JUMP, PROBE_MISSING, PROBE_RANGE, Interlocks
from rigfw.journal import Journal
from rigfw.judge import Judge
from rigfw.kept import Kept
from rigfw.link import Link
from rigfw.memory import Memory
from rigfw.numbers import HANDS_IN, IN_STEP, LOCKED, OFF, READY, STOPPED, TESTING
from rigfw.readings import Inputs, Readings
from rigfw.regulator import Regulator
from rigfw.report import Report
from rigfw.resume import Resume
from rigfw.selfwatch import SelfWatch
from rigfw.sequencer import Sequencer
from rigfw.testing import Testing
from rigfw.windows import Windows
from rigfw.withheld import Withheld
from rigwire.messages import MISSING_MC

EV_BOOT = 0
EV_STOPPED_BEFORE = 23
PROGRAM_FAULT = 9
UNFIT_CONFIGURATION = 11
# Made here, because a tuple made in a pass would allocate.
CALLING = (LOCKED, READY, STOPPED)
BLIND_CODES = (PROBE_MISSING, PROBE_RANGE, PROBE_JUMP)


class App:
    """One rig. `config` None locks it, `lock_words` and `lock_code` then say why to a person.

    `on_fault(exception)` is told of every exception; what it prints is for the console.
    """

    def __init__(
        self, board, config, clock, lock_words="", on_fault=None, lock_code=UNFIT_CONFIGURATION
    ):
        board.all_off()
        self.board = board
        self.clock = clock
        self.lock_words = lock_words
        self._on_fault = on_fault
        # A locked rig still answers, on the least that any rig may have.
        self.config = config or RigConfig.least()
        # A rig that was not commissioned gets little heat; a board without files knows no proof.
        self.cap_permille = getattr(board, "cap_permille", 1000)
        self.journal = Journal()
        self.readings = Readings()
        self.inputs = Inputs()
        self.sequencer = Sequencer(self.journal)
        self.interlocks = Interlocks(self.config, clock)
        keep = getattr(board, "keep", None)  # a board that keeps nothing carries nothing on
        self.memory = Memory(keep, self.config.to_text())
        self.regulator = Regulator(self.config, self.memory.recalled())
        self.drive = Drive(self.config, self.journal)
        self.watch = SelfWatch(self)
        self.attend = Attend(self)
        self._judge = Judge(self)
        self.reporter = Report(self)
        self.desk = Desk(self)
        self.link = Link(board, clock, self.journal, self.desk)
        self.withheld = Withheld(self.journal)
        self.testing = Testing()
        self.windows = Windows(self)
        self.kept = Kept(keep)
        self.desk.upload.restore(self.kept.slots(), self.config.ceiling_mc)
        self.resume = Resume(self, self.kept)
        self._begin_at_boot(clock.now_ms())
        self.watch.begin()
        if config is None:
            self.sequencer.lock(lock_code)
            self.drive.chime(3000)

    def _begin_at_boot(self, now_ms):
        self.now_ms = self.journal.now_ms = now_ms
        self._passed_ms = self._second_ms = self.is_new_second = 0
        self._heat_permille = self._fan_permille = 0
        self.delivered_permille = self._blown_permille = 0
        self._regulated_ms = now_ms
        self._step_seen = self._prompt_seen = 0
        self._happened = -1
        self.journal.note(EV_BOOT, getattr(self.board, "boot_cause", 0))
        if self.resume.stopped_before:
            self.journal.note(EV_STOPPED_BEFORE, self.resume.stopped_before)

    def loop(self, now_ms):
        """One pass. Never raises an Exception."""
        try:
            self.read(now_ms)
            self.judge()
            self.step()
            self.regulate()
            self.write()
            self.report()
        except Exception as fault:
            self._fail(fault)

    def all_off(self):
        """The one path that turns everything off. Allocates nothing."""
        self._heat_permille = self._fan_permille = 0
        self.regulator.rest()
        self.drive.cut()
        self.board.all_off()

    def _fail(self, fault):
        self.all_off()
        if self.sequencer.stop_code != PROGRAM_FAULT:
            self.sequencer.stop(PROGRAM_FAULT, 0)
        self._tell(fault)

    def _tell(self, fault):
        if not self._on_fault:
            return
        try:
            self._on_fault(fault)
        except Exception:  # telling of a fault, with no memory left, must not be the next one
            self.withheld.clear()

    # The pass.

    def read(self, now_ms):
        """Probes, contacts, and how much time passed."""
        passed_ms = max(0, self.clock.diff(now_ms, self.now_ms))
        self._passed_ms = passed_ms
        self.now_ms = self.journal.now_ms = now_ms
        self._second_ms += passed_ms
        self.is_new_second = self._second_ms >= 1000
        if self.is_new_second:
            self._second_ms %= 1000
            self.delivered_permille = min(1000, self.drive.heat_on_ms)
            self.drive.heat_on_ms = 0
            self._blown_permille = min(1000, self.drive.blown_permille_ms // 1000)
            self.drive.blown_permille_ms = 0
        self.board.read_probes(self.readings, now_ms)
        self.readings.forget_undescribed(self.config)
        self.board.inputs(self.inputs)

    def judge(self):
        """Interlocks: stop, withhold, pause. Allocates nothing."""
        self.watch.passed(self._passed_ms)
        self._judge.judge(self._passed_ms)

    def stop(self, code, value):
        """Latch a stop: all off, and the buzzer tells."""
        self.sequencer.stop(code, value)
        self.withheld.clear()
        self.all_off()
        self.drive.chime(3000)

    def step(self):
        """People, then the sequencer. Allocates nothing."""
        sequencer = self.sequencer
        self.attend.step(self._passed_ms)
        if sequencer.state_no == TESTING and self.testing.tick(self._passed_ms):
            self.all_off()
            self.withheld.clear()
            sequencer.end_test()
        elif self.testing.is_let_go(self._passed_ms) and sequencer.state_no == READY:
            self.off()
        if sequencer.added:
            sequencer.added = 0
            self.interlocks.declare(sequencer.poured_g)
        # Just after hands the probe is no witness yet that a target is reached.
        is_settled = self.interlocks.unsettled_ms <= 0
        sequencer.tick(self.product_mc() if is_settled else MISSING_MC, self._passed_ms)
        if sequencer.step_no != self._step_seen:
            self._step_seen = sequencer.step_no
            self.attend.begin_step()
            self.interlocks.begin_step(self.product_mc())
        if sequencer.prompt_no != self._prompt_seen:
            self._prompt_seen = sequencer.prompt_no
            if sequencer.prompt_no:
                self.drive.chime(1000)

    def product_mc(self):
        """The believed chocolate temperature, MISSING_MC when there is none now."""
        readings = self.readings
        age_ms = self.clock.diff(self.now_ms, readings.product_at_ms)
        if readings.product_mc == MISSING_MC or age_ms > limits.PRODUCT_STALE_MS:
            return MISSING_MC
        state_no = self.sequencer.state_no
        if IN_STEP[state_no] or state_no == HANDS_IN:
            return self.interlocks.product_mc
        return readings.product_mc

    # What people and host may change.

    def begin(self, mass_g):
        """Forget what was before: a batch or a test of this mass begins."""
        readings = self.readings
        self.interlocks.begin(readings.product_mc, readings.product_at_ms, mass_g)
        self.regulator.begin(mass_g)
        self._regulated_ms = readings.product_at_ms
        self._step_seen = 0
        self.watch.begin()

    def off(self):
        """All off, whoever asks."""
        self.all_off()
        self.sequencer.off()
        self.withheld.clear()

    def lock(self, words, code):
        """This rig must not start again before a reset. `code` as in the table of stops."""
        self.lock_words = words
        if self.sequencer.state_no != OFF:
            self.off()
        self.sequencer.lock(code)
        self.drive.chime(3000)

    # The demand, and what leaves the rig.

    def regulate(self):
        """Demands, once for each new reading. The only phase that may allocate in a batch."""
        state_no = self.sequencer.state_no
        if not IN_STEP[state_no]:
            in_test = state_no == TESTING
            asked = self.testing.heat_permille if in_test else 0
            self._heat_permille = min(asked, self.interlocks.heat_limit_permille)
            self._fan_permille = self.testing.fan_permille if in_test else 0
            return
        readings = self.readings
        if self.withheld.code in BLIND_CODES:
            self.regulator.rest()
        elif readings.product_at_ms != self._regulated_ms and readings.product_mc != MISSING_MC:
            self._regulate()
        wanted_permille = self.regulator.heat_permille
        self._heat_permille = min(wanted_permille, self.interlocks.heat_limit_permille)
        self._fan_permille = self.regulator.fan_permille

    def _regulate(self):
        sequencer, readings = self.sequencer, self.readings
        passed_ms = self.clock.diff(readings.product_at_ms, self._regulated_ms)
        self._regulated_ms = readings.product_at_ms
        try:
            self.regulator.demand(
                readings, sequencer.target_mc, sequencer.step, self.delivered_permille, passed_ms,
                self._blown_permille,
            )  # fmt: skip
        except Exception as fault:  # a broken sum must never keep the last demand
            self.regulator.rest()
            self._tell(fault)

    def write(self):
        """Outputs, journal row, watchdog. Allocates nothing."""
        sequencer, passed_ms = self.sequencer, self._passed_ms
        state_no = sequencer.state_no
        in_test = state_no == TESTING
        in_step = IN_STEP[state_no] or in_test
        may_heat = in_step and not (self.withheld.code or self.resume.wants_quiet)
        if in_test and not self._heat_permille:  # without a lease for heat the relay stays open
            may_heat = False
        if not may_heat:
            self._heat_permille = 0
        elif self._heat_permille > self.cap_permille:
            self._heat_permille = self.cap_permille
        self.drive.power(self._heat_permille, self._fan_permille, may_heat, passed_ms)
        if in_test:
            self.drive.outputs.stir_permille = self.testing.stir_permille
        else:
            self.drive.stir(in_step, self.interlocks.product_mc, passed_ms)
        is_calling = sequencer.prompt_no or state_no in CALLING
        self.drive.signal(in_step or state_no == HANDS_IN, is_calling, passed_ms)
        self.board.write(self.drive.outputs)
        self.board.kick()
        if self.is_new_second:
            self.reporter.keep(self._heat_permille)
            self._chime_alone()

    def _chime_alone(self):
        left_s = self.config.attended_limit_s - self.interlocks.alone_ms // 1000
        if left_s == limits.ATTENDED_CHIME_S and IN_STEP[self.sequencer.state_no]:
            self.drive.chime(3000)

    def report(self):
        """Display, requests, pushes. May allocate; never waits."""
        started_ms = self.clock.now_ms()
        happened = self.journal.events.next_seq
        if self.is_new_second:
            self.watch.second()
        if self.is_new_second or happened != self._happened:
            self._happened = happened
            self.reporter.show()
        self.link.receive()
        self.link.push(self.is_new_second)
        self.link.send(started_ms)
        self.resume.after_pass(self._passed_ms)
