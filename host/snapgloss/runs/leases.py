"""A step test: outputs driven by short leases, within what one press on the rig allows.

For commissioning and for learning a rig's heat balance. When this program ends, however it does,
the rig turns all off 5 s after the last lease.
"""

from contextlib import suppress
from dataclasses import dataclass, field
from typing import Literal, Protocol

from snapgloss.base.errors import InputError, RigError
from snapgloss.base.records import Event, Reading, Status
from snapgloss.base.units import show_span
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot, Record, prompt_name, state_name
from snapgloss.quality.event_words import stop_words
from snapgloss.runs.words import ASK

LEASE_EVERY_S = 1.0  # wall time; on a simulated rig also with each of its readings
PROBE_WITHIN_S = 3.0
MOST_S = 3600  # the wire's longest test
EARLY_S = 3  # a test that ends so much before its time did not end by it

ASKED = "asked"
"""Until the rig itself says that its window is open; a status from before may still come."""
PRESS = "Press start on the rig: hold the button for 1 to 3 seconds. It then drives its outputs."
NOT_PRESSED = "The window closed: nobody pressed start on the rig. Nothing was driven."
DONE = "The test is over after {span}; all is off."
EARLY = (
    "The test ended early, after {span}: off, hands in the bowl, or leases that came too late. "
    "All is off."
)
LEFT = "You ended the test; all is off."
ANEW = "The rig started anew; all is off."

Ending = Literal["done", "early", "stopped", "not_started", "left"]


@dataclass(frozen=True)
class StepPlan:
    """What is driven and for how long; a press allows exactly this. Powers in permille."""

    heat_permille: int
    fan_permille: int
    stir_permille: int
    plate_mc: int
    most_s: int

    def __post_init__(self) -> None:
        if not 1 <= self.most_s <= MOST_S:
            raise InputError(
                f"A test of {show_span(self.most_s)} is not possible.",
                f"Give 1 s to {show_span(MOST_S)}.",
            )
        if not 0 <= self.plate_mc <= 75_000:
            raise InputError(
                "The plate may not get that hot in a test.",
                "Give --plate up to 75 C, such as 60 C.",
            )
        if not (self.heat_permille or self.fan_permille or self.stir_permille):
            raise InputError("Nothing would be driven.", "Give --heat, --fan or --stir.")

    @property
    def powers(self) -> tuple[int, int, int]:
        """Heat, fan, stirrer."""
        return self.heat_permille, self.fan_permille, self.stir_permille


@dataclass(frozen=True)
class StepResult:
    """How a test ended, and its readings from the press on."""

    outcome: Ending
    words: str
    readings: list[Reading] = field(default_factory=list)


class StepWatch(Protocol):
    """Who is told how a test goes on."""

    def say(self, words: str) -> None:
        """Take a sentence."""
        ...

    def reading(self, at_s: int, reading: Reading) -> None:
        """Take a reading, at_s seconds after the press."""
        ...


def run_step(plan: StepPlan, link: RigLink, watch: StepWatch) -> StepResult:
    """Ask for the test, keep its leases until it ends, and return its readings.

    Raises RigError when the rig refuses, LinkError when the cable fails (the rig turns all off).
    """
    return _Step(plan, link, watch).run()


def asks_for_stop(event: Event) -> bool:
    """Whether the rig wants its stop button tried before it takes the press of start."""
    return event.kind == "prompt" and prompt_name(event.a) == "press_stop"


class _Step:
    def __init__(self, plan: StepPlan, link: RigLink, watch: StepWatch) -> None:
        self._plan, self._link, self._watch = plan, link, watch
        self._readings: list[Reading] = []
        self._state = "off"
        self._began_ms: int | None = None
        self._newest_ms = 0
        self._stop_code = 0
        self._leased_at_s = link.now_s() - LEASE_EVERY_S
        self._outcome: Ending | None = None

    def run(self) -> StepResult:
        """See run_step."""
        identity = self._link.identity
        assert identity is not None
        self._link.follow_from(identity.newest_reading + 1, identity.newest_event + 1)
        self._await_probe()
        self._keep_window()
        self._link.ask_test(*self._plan.powers, self._plan.plate_mc, self._plan.most_s)
        self._keep_window()
        self._state = ASKED
        self._watch.say(PRESS)
        try:
            while self._outcome is None:
                self._once()
        except KeyboardInterrupt:
            self._link.off()
            return StepResult("left", LEFT, self._readings)
        return StepResult(self._outcome, self._words(), self._readings)

    def _keep_window(self) -> None:
        """Also before it is asked for: a host killed in between leaves none that stays open."""
        with suppress(RigError):  # refused before the press, and heard
            self._link.lease(*self._plan.powers)

    def _await_probe(self) -> None:
        """A rig that was just switched on gives no reading yet, and would refuse for that."""
        until_s = self._link.now_s() + PROBE_WITHIN_S
        while self._link.now_s() < until_s:
            self._link.wait(LEASE_EVERY_S)
            if any(isinstance(one, Reading) and one.product_mc for one in self._link.take()):
                return

    def _once(self) -> None:
        self._link.wait(LEASE_EVERY_S)
        records = self._link.take()
        for record in records:
            self._take(record)
        fresh = any(isinstance(record, Reading) for record in records)
        due = self._link.now_s() - self._leased_at_s >= LEASE_EVERY_S
        if self._state in ("ready", "testing") and (fresh or due):
            self._lease()

    def _lease(self) -> None:
        """Before the press a lease is refused, and keeps the window open: a rig closes it 5 s
        after the last, when this program was killed."""
        self._leased_at_s = self._link.now_s()
        try:
            self._link.lease(*self._plan.powers)
        except RigError:
            if self._state == "ready":
                return
            status = self._link.ask_status()
            if status.state == "testing":
                raise  # not because it has just ended
            self._moved(status.state)

    def _take(self, record: Record) -> None:
        if isinstance(record, Boot):
            self._outcome = "stopped"
        elif isinstance(record, Status):
            self._stop_code = record.stop_code or self._stop_code
            self._moved(record.state)
        elif isinstance(record, Event):
            if record.kind == "stop":
                self._stop_code = record.a
            elif asks_for_stop(record):
                self._watch.say(ASK["press_stop"])
            elif record.kind == "state":
                self._began_ms = record.at_ms if self._begins(record) else self._began_ms
                self._newest_ms = record.at_ms
                self._moved(state_name(record.a))
        elif isinstance(record, Reading) and record.state == "testing":
            self._keep(record)

    def _begins(self, event: Event) -> bool:
        return state_name(event.a) == "testing" and self._began_ms is None

    def _keep(self, reading: Reading) -> None:
        self._began_ms = reading.at_ms if self._began_ms is None else self._began_ms
        self._newest_ms = reading.at_ms
        self._readings.append(reading)
        self._watch.reading((reading.at_ms - self._began_ms) // 1000, reading)

    def _moved(self, state: str) -> None:
        if self._state == ASKED and state == "off":
            return  # told before it was asked
        before, self._state = self._state, state
        if state == "testing" != before:  # the press was heard: drive at once
            self._leased_at_s = self._link.now_s() - LEASE_EVERY_S
        if state == "stopped":
            self._outcome = "stopped"
        elif before == "testing" and state == "off":
            early = self._spent_s() < max(self._plan.most_s - EARLY_S, self._plan.most_s / 2)
            self._outcome = "early" if early else "done"
        elif before == "ready" and state == "off":
            self._outcome = "not_started"

    def _spent_s(self) -> int:
        """To the nearest second: the rig ends a test in the last pass before its time is over."""
        return 0 if self._began_ms is None else round((self._newest_ms - self._began_ms) / 1000)

    def _words(self) -> str:
        span = show_span(self._spent_s())
        if self._outcome == "stopped":
            return f"Stopped: {stop_words(self._stop_code)}." if self._stop_code else ANEW
        if self._outcome == "not_started":
            return NOT_PRESSED
        return (DONE if self._outcome == "done" else EARLY).format(span=span)
