"""The simulated person at the rig: sees the display and the lamp, has two hands and a scale.

Everything happens in simulated time and depends on nothing else, so a batch repeats itself. What
the person does is common practice (no source): 20 s from the chime to the button, a hand on the
button for 1.5 s, seed in 15 s after it is asked for, the first mould 4 minutes after the
chocolate is ready, 85 % poured within half an hour, a look at the bowl every 20 minutes.
"""

from typing import NamedTuple, Protocol

from rigwire.states import STATES, STEP_STATE
from rigwire.tables import PROMPTS

READY = STATES.index("ready")
WORKING = STATES.index("working")
HANDS_IN = STATES.index("hands_in")
BATCH = frozenset(STATES.index(state) for state in (*STEP_STATE.values(), "hands_in"))
PRESS_STOP = PROMPTS.index("press_stop")
SEED_IN = PROMPTS.index("seed_in")

WALK_MS = 20_000  # from the window's chime to the button
HOLD_MS = 1_500  # the device asks for 1 to 3 s
TAP_MS = 300
STOP_MS = 5_000  # from the window's chime to the stop button, which lies nearer
ANSWER_MS = 20_000  # from a question on the display to a short press
SEED_MS = 15_000
SEED_C = 20.0
SEED_STABLE_FRACTION = 1.0  # all of the seed's fat crystals are of the stable kind
LOOK_MS = 20 * 60_000
PAUSE_MS = 60_000  # a rig that still waits so long after the hands are out gets a short press
OFFER_MS = 60_000  # a window that opens so soon after a reset is the rig's offer to carry on
POUR_FROM_MS = 4 * 60_000
POUR_EVERY_MS = 15_000
POUR_MS = 30 * 60_000
LEFT_IN_BOWL = 0.15


class Seen(NamedTuple):
    """What display and lamp show."""

    state_no: int
    prompt_no: int
    value: int  # the figure on the display: grams of seed while `seed_in` is asked for


class Bowl(Protocol):
    """What hands can do to the chocolate."""

    def add(self, grams: float, at_c: float, stable_fraction: float) -> None:
        """Put chocolate in."""
        ...

    def remove(self, grams: float) -> float:
        """Take chocolate out; return the grams that were there."""
        ...

    def refill(self) -> None:
        """Empty it and load a new batch."""
        ...


class Person:
    """Call `act` once a tick; `.start_down` and `.stop_down` are the hands on the buttons.

    `.pressed_at_ms` is the simulated time at which the last press of start began, None before.
    A press of start always begins at a whole simulated second. An offer to carry on is pressed
    like a start and leaves `.pressed_at_ms`: the batch began when it began. Set `.busy` while the
    hands are in the bowl.
    """

    def __init__(self, mass_g: float) -> None:
        self._mass_g = mass_g
        self._state_no = -1
        self._state_since_ms = 0
        self._prompt_no = 0
        self._prompt_since_ms = 0
        self._release_at_ms = 0
        self._looked_at_ms = 0
        self._start_tried = False
        self._seeded = False
        self._bowl_used = False  # seed went in or chocolate out: a new batch needs a new bowl
        self._cut_at_ms: int | None = None
        self._working_since_ms: int | None = None
        self._poured = 0
        self.busy = False
        self.at_work = False
        """The hands do something to the bowl while the rig is off."""
        self.visits = 0
        """How often a host came to the rig."""
        self.start_down = False
        self.stop_down = False
        self.pressed_at_ms: int | None = None

    def act(self, now_ms: int, seen: Seen, bowl: Bowl) -> None:
        """Do what a person does at `now_ms` (simulated, a multiple of the tick)."""
        self._notice(now_ms, seen)
        asked_ms = now_ms - self._prompt_since_ms
        is_asked = seen.state_no == READY and seen.prompt_no == PRESS_STOP
        self.stop_down = is_asked and STOP_MS <= asked_ms < STOP_MS + TAP_MS
        if self.start_down:
            self.start_down = now_ms < self._release_at_ms
        elif seen.state_no == READY:
            self._start(now_ms, bowl)
        elif seen.state_no in BATCH:
            self._attend(now_ms, seen, bowl)

    def _notice(self, now_ms: int, seen: Seen) -> None:
        if self.busy:
            self._state_since_ms = now_ms
        if seen.state_no != self._state_no:
            if self._state_no in BATCH and seen.state_no < 0:
                self._cut_at_ms = now_ms
            self._state_no, self._state_since_ms = seen.state_no, now_ms
            self._start_tried = False
            self._begin(now_ms)
        if seen.prompt_no != self._prompt_no:
            self._prompt_no, self._prompt_since_ms = seen.prompt_no, now_ms
            self._seeded = False

    def _begin(self, now_ms: int) -> None:
        if self._state_no == READY and not self._is_offered(now_ms):
            self._working_since_ms = None
            self._poured = 0
        elif self._state_no == WORKING and self._working_since_ms is None:
            self._working_since_ms = now_ms

    def _start(self, now_ms: int, bowl: Bowl) -> None:
        is_new = self.pressed_at_ms is None or not self._is_offered(self._state_since_ms)
        if is_new and self._bowl_used:  # at once: its probe has the walk to settle
            bowl.refill()
            self._bowl_used = False
        due = now_ms - self._state_since_ms >= WALK_MS and now_ms % 1000 == 0
        if due and not self._start_tried:
            self._start_tried = True
            if is_new:
                self.pressed_at_ms = now_ms
            self._press(now_ms, HOLD_MS)

    def _is_offered(self, since_ms: int) -> bool:
        """True when a window that opened then goes on with a batch that was cut short."""
        return self._cut_at_ms is not None and since_ms - self._cut_at_ms < OFFER_MS

    def _press(self, now_ms: int, span_ms: int) -> None:
        self.start_down = True
        self._release_at_ms = now_ms + span_ms
        self._looked_at_ms = now_ms

    def _attend(self, now_ms: int, seen: Seen, bowl: Bowl) -> None:
        asked_ms = now_ms - self._prompt_since_ms
        if seen.prompt_no == SEED_IN:
            if asked_ms >= SEED_MS and not self._seeded:
                self._seeded = self._bowl_used = True
                bowl.add(float(seen.value), SEED_C, SEED_STABLE_FRACTION)
        elif (
            (seen.prompt_no and asked_ms >= ANSWER_MS)
            or now_ms - self._looked_at_ms >= LOOK_MS
            or (seen.state_no == HANDS_IN and now_ms - self._state_since_ms >= PAUSE_MS)
        ):
            self._answer(now_ms, seen)
        if seen.state_no == WORKING and self._working_since_ms is not None:
            self._pour(now_ms - self._working_since_ms - POUR_FROM_MS, bowl)

    def _answer(self, now_ms: int, seen: Seen) -> None:
        """A short press: answers what is asked, or says "I am here"."""
        self._press(now_ms, TAP_MS)
        if seen.prompt_no:  # a prompt that stays is asked again only after the same time
            self._prompt_since_ms = now_ms
        if seen.state_no == HANDS_IN:
            self._state_since_ms = now_ms

    def _pour(self, since_ms: int, bowl: Bowl) -> None:
        due_ms = self._poured * POUR_EVERY_MS
        if due_ms <= since_ms and due_ms < POUR_MS:
            self._poured += 1
            self._bowl_used = True
            bowl.remove(self._mass_g * (1 - LEFT_IN_BOWL) * POUR_EVERY_MS / POUR_MS)
