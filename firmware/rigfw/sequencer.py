"""What the rig is doing and what comes next: the interpreter of rigwire.states.TRANSITIONS.

Nothing here knows hardware, and nothing here allocates once a schedule is held, except the
requests of the host (`ask_start`). All times count down or up by the ms that passed since the
last pass, so the wrap of the clock cannot reach them.
"""

from rigfw import limits
from rigwire import tables
from rigwire.errors import IllegalTransition
from rigwire.messages import MISSING_MC
from rigwire.states import EVENTS, STATES, STEP_STATE, TRANSITIONS

_KIND_NAMES = tables.EVENT_NAMES
EV_STATE = _KIND_NAMES.index("state")
EV_STEP = _KIND_NAMES.index("step")
EV_REACHED = _KIND_NAMES.index("reached")
EV_PROMPT = _KIND_NAMES.index("prompt")
EV_ANSWERED = _KIND_NAMES.index("answered")
EV_DIP = _KIND_NAMES.index("dip")
EV_ADDED = _KIND_NAMES.index("added")
EV_STOP = _KIND_NAMES.index("stop")
EV_CLEARED = _KIND_NAMES.index("cleared")
EV_WINDOW = _KIND_NAMES.index("window")
EV_HANDS = _KIND_NAMES.index("hands")
EV_DONE = _KIND_NAMES.index("done")

LOCKED = STATES.index("locked")
OFF = STATES.index("off")
READY = STATES.index("ready")
MELTING = STATES.index("melting")
COOLING = STATES.index("cooling")
SEEDING = STATES.index("seeding")
WORKING = STATES.index("working")
HANDS_IN = STATES.index("hands_in")
FINISHED = STATES.index("finished")
STOPPED = STATES.index("stopped")

UNFIT = EVENTS.index("unfit")
ASK_START = EVENTS.index("ask_start")
WINDOW_CLOSED = EVENTS.index("window_closed")
HANDS = EVENTS.index("hands")
DONE = EVENTS.index("done")
ALL_OFF = EVENTS.index("off")
FAULT = EVENTS.index("fault")
CLEARED = EVENTS.index("cleared")
STEP_EVENT = {kind: EVENTS.index(kind) for kind in tables.STEP_KINDS}

BY_PEDAL = 1
BY_BOWL = 2
BY_READING = 3

BY_PRESS = tables.ANSWERED_BY.index("press")
BY_HOST = tables.ANSWERED_BY.index("host")
NOTICED = tables.ANSWERED_BY.index("noticed")
SAFE_DEFAULT = tables.ANSWERED_BY.index("safe_default")
SEED_IN = tables.PROMPTS.index("seed_in")
ADDED_SEED = tables.ADDITIONS.index("seed")

IN_STEP = bytes([1 if state in STEP_STATE.values() else 0 for state in STATES])
"""1 for the states of a step, by state number."""

_COLUMNS = len(EVENTS)
_NO_ROW = 255
_ILLEGAL = IllegalTransition("the state table has no such row")


def _table():
    cells = bytearray([_NO_ROW] * (len(STATES) * _COLUMNS))
    for state, event, after in TRANSITIONS:
        cells[STATES.index(state) * _COLUMNS + EVENTS.index(event)] = STATES.index(after)
    return bytes(cells)


_NEXT = _table()


class Sequencer:
    """State, step, step clock, prompt and start window. Temperatures mC, times ms.

    `target_mc` is MISSING_MC outside a step. `reached` is 1 once the step's target was reached;
    from then the prompt waits (`wait_ms` left), then `held_ms` counts up to the step's hold.
    `seeded` is 1 when seed was noticed, declared or answered for.
    """

    def __init__(self, journal):
        self._journal = journal
        self.state_no = OFF
        self.schedule = None
        self.step = None
        self.step_no = 0
        self.kind = ""
        self.target_mc = MISSING_MC
        self.reached = 0
        self.held_ms = 0
        self.prompt_no = 0
        self.wait_ms = 0
        self.seeded = 0
        self.window_ms = 0
        self.hands_ms = 0
        self.stop_code = 0
        self._hold_ms = 0

    # What changes the state.

    def fire(self, event_no):
        """One row of the table. Raises IllegalTransition, state unchanged, where none is."""
        after = _NEXT[self.state_no * _COLUMNS + event_no]
        if after == _NO_ROW:
            raise _ILLEGAL
        if after != self.state_no:
            self._journal.note(EV_STATE, after, self.state_no)
            self.state_no = after

    def lock(self, stop_code):
        """This rig is not fit. Only a reset leaves it."""
        self.stop_code = stop_code
        self.fire(UNFIT)

    def open_window(self, schedule):
        """A start was asked for; only a fresh press starts it, and only this schedule."""
        self.fire(ASK_START)
        self._leave_schedule()
        self.schedule = schedule
        self.window_ms = limits.WINDOW_MS
        self._journal.note(EV_WINDOW, 1)

    def start(self):
        """The press was right: enter the first step."""
        self.window_ms = 0
        self._journal.note(EV_WINDOW, 0)
        self._enter(1)

    def off(self):
        """All off, from any state. A stop stays latched, a locked rig stays locked."""
        self.fire(ALL_OFF)
        self._close_window()
        self._leave_schedule()

    def stop(self, stop_code, value):
        """Latch a stop with its cause. In a locked rig nothing is on, so nothing changes."""
        if self.state_no == LOCKED:
            return
        self.stop_code = stop_code
        self._journal.note(EV_STOP, stop_code, value)
        self.fire(FAULT)
        self._close_window()
        self._leave_schedule()

    def clear(self):
        """A person pressed and the cause is gone."""
        self._journal.note(EV_CLEARED, self.stop_code)
        self.stop_code = 0
        self.fire(CLEARED)

    def hands(self, cause):
        """Hands are in the bowl: heat and stirrer off, the step clock stands.

        `cause` is BY_PEDAL, BY_BOWL or BY_READING.
        """
        self.hands_ms = 0
        self.fire(HANDS)
        self._journal.note(EV_HANDS, cause)

    def hands_out(self):
        """Back into the same step, where its clock stood."""
        self.hands_ms = 0
        self.fire(STEP_EVENT[self.kind])

    # What time does.

    def tick(self, product_mc, passed_ms):
        """One pass. `product_mc` is MISSING_MC when there is no good reading."""
        if IN_STEP[self.state_no]:
            self._tick_step(product_mc, passed_ms)
        elif self.state_no == READY:
            self.window_ms -= passed_ms
            if self.window_ms <= 0:
                self._close_window()
                self.fire(WINDOW_CLOSED)
        elif self.state_no == HANDS_IN:
            self.hands_ms += passed_ms

    def _tick_step(self, product_mc, passed_ms):
        if not self.reached:
            if product_mc != MISSING_MC and self._is_reached(product_mc):
                self._reach(product_mc)
        elif self.wait_ms > 0:
            self.wait_ms -= passed_ms
            if self.wait_ms <= 0:
                self.answer(SAFE_DEFAULT)
        else:
            self.held_ms += passed_ms
            if self.held_ms >= self._hold_ms:
                self._next()

    def _is_reached(self, product_mc):
        over_mc = product_mc - self.target_mc
        if self.kind == "cool":
            return over_mc <= limits.REACHED_DOWN_MC
        if self.kind in ("melt", "rewarm"):
            return over_mc >= -limits.REACHED_UP_MC
        return -limits.REACHED_NEAR_MC <= over_mc <= limits.REACHED_NEAR_MC

    def _reach(self, product_mc):
        step = self.step
        self.reached = 1
        self._journal.note(EV_REACHED, self.step_no, product_mc)
        if step.prompt and not (step.prompt == SEED_IN and self.seeded):
            self.prompt_no = step.prompt
            self.wait_ms = 1000 * step.wait_s
            self._journal.note(EV_PROMPT, step.prompt, self.prompt_value())

    def _next(self):
        if self.step_no < len(self.schedule.steps):
            self._enter(self.step_no + 1)
            return
        self._journal.note(EV_DONE)
        self.fire(DONE)
        self._leave_schedule()

    def _enter(self, step_no):
        step = self.schedule.steps[step_no - 1]
        self.fire(STEP_EVENT[step.kind])
        self.step = step
        self.step_no = step_no
        self.kind = step.kind
        self.target_mc = step.target_mc
        self._hold_ms = 1000 * step.hold_s
        self.reached = self.held_ms = self.prompt_no = self.wait_ms = self.seeded = 0
        self._journal.note(EV_STEP, step_no, tables.STEP_KINDS.index(step.kind))

    def _leave_schedule(self):
        self.step = None
        self.kind = ""
        self.step_no = 0
        self.target_mc = MISSING_MC
        self.reached = self.held_ms = self.prompt_no = self.wait_ms = self.seeded = 0

    def _close_window(self):
        if self.window_ms:
            self.window_ms = 0
            self._journal.note(EV_WINDOW, 0)

    # What people do.

    def prompt_value(self):
        """The figure beside a prompt: grams of seed, else the target in mC."""
        return self.step.grams if self.step.prompt == SEED_IN else self.step.target_mc

    def answer(self, how):
        """The prompt that shows is answered. The step clock starts where it had to wait."""
        if not self.prompt_no:
            return
        prompt_no = self.prompt_no
        self._journal.note(EV_ANSWERED, prompt_no, how)
        self.prompt_no = 0
        self.wait_ms = 0
        if prompt_no == SEED_IN:
            self._seed_is_in()

    def notice_seed(self, drop_mc, product_mc):
        """The temperature dipped as it does when seed goes in."""
        self._journal.note(EV_DIP, drop_mc, product_mc)
        self._journal.note(EV_ADDED, ADDED_SEED, self.step.grams)
        self.answer(NOTICED)
        self._seed_is_in()

    def declare(self, addition_no, grams):
        """Somebody says what goes in or out now."""
        self._journal.note(EV_ADDED, addition_no, grams)
        if addition_no == ADDED_SEED and self.state_no == SEEDING:
            self.answer(BY_HOST)
            self._seed_is_in()

    def _seed_is_in(self):
        """From here the heat must not climb back to the seeding temperature: it kills seed."""
        self.seeded = 1
        if self.step_no < len(self.schedule.steps):
            following = self.schedule.steps[self.step_no]
            self.target_mc = min(self.target_mc, following.target_mc)

    def hold_left_s(self):
        """Seconds left of this step's hold; -1 before it runs."""
        if not self.reached or self.wait_ms > 0:
            return -1
        return max(0, self._hold_ms - self.held_ms) // 1000

    def left_s(self):
        """Seconds left of what runs now: window, wait or hold; -1 when nothing does."""
        if self.state_no == READY:
            return self.window_ms // 1000
        return self.wait_ms // 1000 if self.wait_ms > 0 else self.hold_left_s()
