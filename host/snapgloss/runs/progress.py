"""Where a batch is, worked out from what the rig tells; pure, no clock, nothing printed.

Times are the device's: seconds of `at_ms`, which for a virtual rig are simulated seconds.
"""

from rigfw import limits
from rigwire.states import STEP_STATE
from rigwire.tables import FLAG_HEAT_WITHHELD, FLAG_HOLDING
from snapgloss.base.records import Event, Reading, Status
from snapgloss.link.decode import prompt_name, state_name
from snapgloss.quality.event_words import stop_words
from snapgloss.runs import words
from snapgloss.runs.moment import Progress
from snapgloss.runs.observe import Mirror
from snapgloss.runs.pause import Pause
from snapgloss.runs.plan import BatchPlan

UNDER_WAY = (*STEP_STATE.values(), "hands_in")  # states that belong to a batch
AT_ONCE_MS = 2000
STOP_PROVEN = 1  # of the event "proven"
OFFER_WITHIN_MS = limits.CARRY_WAIT_MS + 5000  # by then a rig that started anew has offered
WINDOW_SLACK_MS = 1000  # between the event of an offer and its window's own clock
ENDED = ("finished", "off", "stopped", "locked")


class Tracker:
    """Takes records in order; says what they mean for the batch."""

    def __init__(self, plan: BatchPlan, simulated: bool, state: str, fahrenheit: bool) -> None:
        self.plan, self.simulated, self.fahrenheit = plan, simulated, fahrenheit
        self.mirror = Mirror(state)
        self.reading: Reading | None = None
        self.status: Status | None = None
        self.newest_ms = 0
        self.started_ms: int | None = None
        self.ended_ms: int | None = None
        self.ended_state = ""
        self.stop_code = 0
        self.step_no = 0
        self.card = ""
        self.behind = 0
        self.anew = ""  # after the rig started anew: "waits", "offered" or "carried_on"
        self.shift_ms = 0  # from this boot's times to the run's
        self.offered_ms: int | None = None  # when this boot opened its window to carry on
        self.seems_over = False  # a status says so, which may be older than the events: ask
        self._open = state == "ready" or state in UNDER_WAY  # something is there to end
        self._step_since_ms = 0
        self._ready_ms: int | None = None  # when the start window opened
        self._prompt, self._grams = "none", 0
        self._steps = plan.steps
        self._pause = Pause()

    def take_reading(self, reading: Reading) -> str | None:
        """Follow a reading; return a line for a person, or None. It never moves the state:
        events do, and status."""
        self.reading = reading
        self.newest_ms = max(self.newest_ms, reading.at_ms)
        if self.started_ms is None and reading.state in UNDER_WAY:
            self.started_ms = reading.at_ms  # joined, and its first events are not kept any more
        if reading.step_no != self.step_no and self.mirror.state in UNDER_WAY:
            self._enter(reading.step_no, reading.at_ms)
        if self.anew == "waits" and self.started_ms is not None:
            self._await_offer(reading)
        in_pause = self.mirror.state == "hands_in"
        return self._pause.take_time(reading.at_ms) if in_pause else None

    def _await_offer(self, reading: Reading) -> None:
        """The batch is over when the rig is for off and says nothing of carrying on."""
        if reading.state in ("stopped", "locked") or reading.at_ms > OFFER_WITHIN_MS:
            self.end_in(reading.state if reading.state in ENDED else "off")

    def take_status(self, status: Status) -> None:
        """Follow a status, the device's word on where it was when it sent it.

        A status waits in a queue while events are fetched past it, so it never ends a batch: it
        sets `seems_over`, and `settle` takes what the rig answers when it is asked.
        """
        self.status = status
        self._prompt = status.prompt
        if status.stop_code:
            self.stop_code = status.stop_code
        if status.state in ENDED and self._open and not self.over:
            self.seems_over = True
        elif status.state != self.mirror.state:
            self._moved(status.state, self.newest_ms)
            self.mirror.adopt(status.state)

    def settle(self, state: str) -> None:
        """Take the rig's answer on where it is, all its events before being taken."""
        self.seems_over = False
        if state in ENDED and not self.over:
            self.end_in(state)
            self.mirror.adopt(state)

    def start_anew(self, state: str, shift_ms: int) -> None:
        """Follow a rig that started anew; `shift_ms` puts its times behind those before."""
        self.shift_ms, self.newest_ms, self._step_since_ms = shift_ms, 0, 0
        self.anew, self._prompt, self.status = "waits", "none", None
        self._pause = Pause()
        self.ended_ms, self.ended_state = None, ""
        self.offered_ms, self.seems_over = None, False
        self._open = state == "ready" or state in UNDER_WAY
        self.mirror.adopt(state)
        if self.started_ms is None:  # it was only asked for: nothing is there to carry on
            self.end_in("off")

    @property
    def at_s(self) -> int:
        """Device seconds since the batch began, over all boots; 0 before."""
        return self.at_s_of(self.newest_ms)

    def at_s_of(self, at_ms: int) -> int:
        """The same for a time of this boot's own clock."""
        if self.started_ms is None:
            return 0
        return max(0, (at_ms + self.shift_ms - self.started_ms) // 1000)

    def take_event(self, event: Event) -> tuple[str | None, str | None]:
        """Follow an event; return (a line for a person, a warning), each or None."""
        self.newest_ms = max(self.newest_ms, event.at_ms)
        said = not self._goes_without_saying(event)
        warning = self._follow(event)
        line = self._pause.take_event(event)
        line = line or words.event_line(event, self._steps, self.fahrenheit)
        return line if said else None, warning

    def _goes_without_saying(self, event: Event) -> bool:
        """A step that begins at its target, the dip of the seed that was asked for, and the
        window of an offer, which says itself what to press."""
        if event.kind == "state" and self.anew:
            return state_name(event.a) == "ready"
        if event.kind == "reached":
            return event.at_ms - self._step_since_ms < AT_ONCE_MS
        return event.kind == "dip" and self._prompt == "seed_in"

    def _follow(self, event: Event) -> str | None:
        if event.kind == "state":
            old, new = state_name(event.b), state_name(event.a)
            self._moved(new, event.at_ms)
            return self.mirror.follow(old, new)
        if event.kind == "step":
            self._enter(event.a, event.at_ms)
        elif event.kind == "prompt":
            self._prompt = prompt_name(event.a)
            self._grams = event.b
        elif event.kind == "answered" or (event.kind == "proven" and event.a == STOP_PROVEN):
            self._prompt = "none"
        elif event.kind == "stop":
            self.stop_code = event.a
        elif event.kind == "offer" and self.anew:
            self.anew, self.offered_ms = "offered", event.at_ms
        elif event.kind == "carried_on" and self.anew:
            self.anew = "carried_on"
        return None

    @property
    def over(self) -> bool:
        """The batch has ended, or its start window closed without a press."""
        return self.ended_state != ""

    @property
    def offer_ran_out(self) -> bool:
        """The window to carry on stood open for all its time, by the rig's own clock."""
        if self.offered_ms is None or self.ended_ms is None:
            return False
        return self.ended_ms - self.offered_ms >= limits.OFFER_MS - WINDOW_SLACK_MS

    @property
    def is_offered(self) -> bool:
        """The rig waits for a press to carry on, with all off."""
        return self.anew == "offered" and self.mirror.state == "ready"

    def end_in(self, state: str) -> None:
        """End the batch in a state that the device shows, unless an event has ended it."""
        self._open = True
        self._moved(state, self.newest_ms)

    def _moved(self, state: str, at_ms: int) -> None:
        self._open = self._open or state == "ready" or state in UNDER_WAY
        if self.started_ms is None and state in UNDER_WAY:
            self.started_ms = at_ms
        if state == "ready" and not self.anew:
            self._ready_ms = at_ms
        if state in ENDED and not self.over and self._open:
            self.ended_ms, self.ended_state = at_ms, state

    def _enter(self, step_no: int, at_ms: int) -> None:
        self.step_no, self._step_since_ms = step_no, at_ms

    def step_left_s(self) -> int | None:
        """Seconds left in this step: the device's own count while it holds, else the forecast."""
        if not 1 <= self.step_no <= len(self._steps) or self.reading is None:
            return None
        hold_s = self._steps[self.step_no - 1].hold_s
        if self.reading.flags & FLAG_HOLDING and self.status is not None:
            return self.status.left_s if self.status.left_s >= 0 else hold_s
        if not self.plan.forecast_s:
            return None
        spent_s = (self.newest_ms - self._step_since_ms) // 1000
        return max(self.plan.forecast_s[self.step_no - 1] - spent_s, hold_s)

    def batch_left_s(self) -> int | None:
        """Seconds left until all is off, by the forecast of the steps to come."""
        left_s = self.step_left_s()
        if left_s is None or not self.plan.forecast_s:
            return None
        return left_s + sum(self.plan.forecast_s[self.step_no :])

    def progress(self) -> Progress:
        """Where the batch is now."""
        reading, state = self.reading, self.mirror.state
        at_s, left_s = self.at_s, self.batch_left_s()
        return Progress(
            simulated=self.simulated,
            state=state,
            at_s=at_s,
            product_mc=reading.product_mc if reading else None,
            target_mc=reading.target_mc if reading else None,
            plate_mc=reading.plate_mc if reading else None,
            room_mc=reading.room_mc if reading else None,
            step_no=self.step_no if state in UNDER_WAY else 0,
            steps=len(self._steps),
            step_words=self._step_words(),
            step_left_s=self.step_left_s() if state in UNDER_WAY else None,
            batch_left_s=left_s if state in UNDER_WAY else None,
            share_done=_share(at_s, left_s, state),
            now=self.now_words(),
            waiting=self._waiting(),
            withheld=self._withheld_words(),
            card=self.card,
            window_left_s=self._window_left_s(),
            behind=self.behind,
        )

    def _window_left_s(self) -> int | None:
        if self._ready_ms is None or self.mirror.state != "ready" or self.anew:
            return None
        return max(0, (limits.WINDOW_MS - (self.newest_ms - self._ready_ms)) // 1000)

    def _step_words(self) -> str:
        state = self.mirror.state
        if state == "stopped":
            return f"Stopped: {stop_words(self.stop_code)}"
        if state not in UNDER_WAY or state == "hands_in" or not self._step():
            return words.state_words(state)
        step = self._steps[self.step_no - 1]
        target_mc = self.reading.target_mc if self.reading else None
        if step.kind == "seed" and target_mc is not None and target_mc < step.target_mc:
            return words.stirring_in(target_mc, self.fahrenheit)
        creeps = step.creep_mc_per_h and target_mc is not None
        return words.doing(step, self.fahrenheit, target_mc if creeps else None)

    def now_words(self) -> str:
        """The one sentence: what to do now."""
        state, free = self.mirror.state, self._words_outside()
        if free:
            return free
        if state not in UNDER_WAY or not self._step():
            return words.FREE
        asked = words.ask(self._prompt, self._grams)
        if asked:
            return asked
        return words.meanwhile(self._steps, self.step_no, self.step_left_s(), self.fahrenheit)

    def _words_outside(self) -> str:
        """What to do where no step runs, or an empty string."""
        state = self.mirror.state
        if state == "off" and self.anew == "waits" and not self.over:
            return words.STARTED_ANEW
        if state == "hands_in":
            return self._pause.words
        if state == "ready" and self._prompt == "press_stop":
            return words.ask(self._prompt, 0)
        offered = state == "ready" and self.anew == "offered"
        return words.CARRY_ON if offered else words.OUTSIDE.get(state, "")

    def _step(self) -> bool:
        return 1 <= self.step_no <= len(self._steps)

    def _waiting(self) -> bool:
        asked = self._prompt != "none" and self.mirror.state in UNDER_WAY
        return asked or self.mirror.state in ("ready", "hands_in", "stopped")

    def _withheld_words(self) -> str:
        if self.reading is None or not self.reading.flags & FLAG_HEAT_WITHHELD:
            return ""
        code = self.status.withheld_code if self.status else 0
        return stop_words(code) if code else "the rig does not say why"


def _share(at_s: int, left_s: int | None, state: str) -> float:
    if state == "finished":
        return 1.0
    if not at_s or left_s is None:
        return 0.0
    return at_s / (at_s + left_s) if at_s + left_s else 0.0
