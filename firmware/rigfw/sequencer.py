"""What the rig is doing and what comes next: the interpreter of rigwire.states.

Nothing here knows hardware, nor allocates once a schedule is held, but for requests of the host
(`ask_start`). Times count by the ms since the last pass, so no wrap of the clock reaches them.
"""

from rigfw import limits, numbers
from rigfw.numbers import HANDS_IN, IN_STEP, LOCKED, OFF, READY, SEED_IN, SEEDING, next_no
from rigwire import tables
from rigwire.messages import MISSING_MC

# Events of the journal.
EV_STATE = 1
EV_STEP = 2
EV_REACHED = 3
EV_PROMPT = 4
EV_ANSWERED = 5
EV_DIP = 6
EV_ADDED = 7
EV_STOP = 8
EV_CLEARED = 9
EV_WINDOW = 13
EV_DONE = 15
EV_OFFER = 17
EV_CARRIED_ON = 18
EV_HANDS = 19

# Answers and additions.
NOTICED = 3
SAFE_DEFAULT = 4
SEED = 1
POUR = 3


class Sequencer:
    """State, step, step clock, prompt and start window. Temperatures mC, times ms.

    `target_mc` is MISSING_MC outside a step. `reached` is 1 once the step's target was reached;
    from then the prompt waits (`wait_ms` left), then `held_ms` counts up to the step's hold.
    `seeded` is 1 when seed was noticed, declared or answered for. `added` becomes 1 when something
    goes in or out, by whoever says so; the App takes it back to 0. `poured_g` is what was
    said to be poured out.
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
        self.added = 0
        self.poured_g = 0
        self.window_ms = 0
        self.hands_ms = 0
        self.hands_cause = 0
        self.stop_code = 0
        self._hold_ms = 0

    # What changes the state.

    def fire(self, event_no):
        """One row of the table. Raises IllegalTransition, state unchanged, where none is."""
        after = next_no(self.state_no, event_no)
        if after != self.state_no:
            self._journal.note(EV_STATE, after, self.state_no)
            self.state_no = after

    def lock(self, stop_code):
        """This rig is not fit. Only a reset leaves it."""
        self.stop_code = stop_code
        self.fire(numbers.UNFIT)

    def open_window(self, schedule):
        """A start was asked for; only a fresh press starts it, and only this schedule."""
        self.fire(numbers.ASK_START)
        self._leave_schedule()
        self.schedule = schedule
        self.window_ms = limits.WINDOW_MS
        self._journal.note(EV_WINDOW, 1)

    def start(self):
        """The press was right: enter the first step."""
        self._close_window()
        self.poured_g = 0
        self._enter(1)

    def open_test(self):
        """A test was asked for; it needs the same press."""
        self.fire(numbers.ASK_START)
        self._leave_schedule()
        self.schedule = None
        self.window_ms = limits.WINDOW_MS
        self._journal.note(EV_WINDOW, 1)

    def start_test(self):
        """The press allows the test."""
        self._close_window()
        self.fire(numbers.TEST)

    def end_test(self):
        """The last lease is over."""
        self.fire(numbers.LEASE_ENDED)

    def offer(self, schedule, step_no, product_mc):
        """After a reset: open the window for going on with a step."""
        self.fire(numbers.OFFER)
        self.schedule = schedule
        self.window_ms = limits.OFFER_MS
        self._journal.note(EV_WINDOW, 1)
        self._journal.note(EV_OFFER, step_no, product_mc)

    def carry_on(self, progress, product_mc):
        """The press was right: enter the step again, as far as it had come."""
        self._close_window()
        self._enter(progress.step_no)
        self._journal.note(EV_CARRIED_ON, progress.step_no, product_mc)
        if progress.seeded:
            self._seed_is_in()
        if progress.reached and (progress.seeded or progress.held_s):
            # What has left its target comes back to it first; until then the clock stands.
            self.held_ms = 1000 * progress.held_s
            self._creep()
            self.reached = int(product_mc != MISSING_MC and self._is_reached(product_mc))

    def off(self):
        """All off, from any state. A stop stays latched, a locked rig stays locked."""
        self.fire(numbers.ALL_OFF)
        self._close_window()
        self._leave_schedule()

    def stop(self, stop_code, value):
        """Latch a stop with its cause. In a locked rig nothing is on, so nothing changes."""
        if self.state_no == LOCKED:
            return
        self.stop_code = stop_code
        self._journal.note(EV_STOP, stop_code, value)
        self.fire(numbers.FAULT)
        self._close_window()
        self._leave_schedule()

    def clear(self):
        """A person pressed and the cause is gone."""
        self._journal.note(EV_CLEARED, self.stop_code)
        self.stop_code = 0
        self.fire(numbers.CLEARED)

    def hands(self, cause):
        """Hands are in the bowl: heat and stirrer off, the step clock stands.

        `cause` is one of numbers.BY_PEDAL to BY_DOUBT.
        """
        self.hands_ms = 0
        self.hands_cause = cause
        self.fire(numbers.HANDS)
        self._journal.note(EV_HANDS, cause)

    def hands_out(self):
        """Back into the same step, where its clock stood."""
        self.hands_ms = 0
        self.fire(numbers.STEP_EVENT[self.kind])

    # What time does.

    def tick(self, product_mc, passed_ms):
        """One pass. `product_mc` is MISSING_MC when there is no good reading."""
        if IN_STEP[self.state_no]:
            self._tick_step(product_mc, passed_ms)
        elif self.state_no == READY:
            self.window_ms -= passed_ms
            if self.window_ms <= 0:
                self._close_window()
                self.fire(numbers.WINDOW_CLOSED)
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
            self._creep()
            if self.held_ms >= self._hold_ms:
                self._next()

    def _creep(self):
        step = self.step
        if step.creep_mc_per_h:  # in whole seconds: a product of ms would leave the small integers
            risen_mc = self.held_ms // 1000 * step.creep_mc_per_h // 3600
            self.target_mc = min(step.creep_to_mc, step.target_mc + risen_mc)

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
            value = step.grams if step.prompt == SEED_IN else step.target_mc
            self._journal.note(EV_PROMPT, step.prompt, value)

    def _next(self):
        if self.step_no < len(self.schedule.steps):
            self._enter(self.step_no + 1)
            return
        self._journal.note(EV_DONE)
        self.fire(numbers.DONE)
        self._leave_schedule()

    def _enter(self, step_no):
        step = self.schedule.steps[step_no - 1]
        self.fire(numbers.STEP_EVENT[step.kind])
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
            self.window_ms = self.prompt_no = 0
            self._journal.note(EV_WINDOW, 0)

    # What people do.

    def answer(self, how):
        """The prompt that shows is answered. The step clock starts where it had to wait."""
        if not self.prompt_no:
            return
        prompt_no = self.prompt_no
        self._journal.note(EV_ANSWERED, prompt_no, how)
        self.prompt_no = 0
        self.wait_ms = 0
        if prompt_no == SEED_IN:
            self.added = 0 if how == SAFE_DEFAULT else 1
            self._seed_is_in()

    def notice_seed(self, drop_mc, product_mc):
        """The temperature dipped as it does when seed goes in."""
        self._journal.note(EV_DIP, drop_mc, product_mc)
        self._journal.note(EV_ADDED, SEED, self.step.grams)
        self.added = 1
        self.answer(NOTICED)
        self._seed_is_in()

    def declare(self, addition_no, grams):
        """Somebody says what goes in or out now."""
        self._journal.note(EV_ADDED, addition_no, grams)
        self.added = 1
        if addition_no == POUR:
            self.poured_g += grams
        if addition_no == SEED and self.state_no == SEEDING:
            self.answer(numbers.BY_HOST)
            self._seed_is_in()

    def _seed_is_in(self):
        """From here the heat must not climb back to the seeding temperature: it kills seed."""
        self.seeded = 1
        if self.step_no < len(self.schedule.steps):
            following = self.schedule.steps[self.step_no]
            self.target_mc = min(self.target_mc, following.target_mc)

    def waits_for_seed(self):
        """1 while a cold handful is due: its dip is no fault."""
        return 1 if self.kind == "seed" and not self.seeded else 0

    def hold_left_s(self):
        """Seconds left of this step's hold; -1 before it runs."""
        if not self.reached or self.wait_ms > 0:
            return -1
        return max(0, self._hold_ms - self.held_ms) // 1000
