"""Outputs driven within one press, while somebody does something: what the rig told meanwhile."""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from rigfw.limits import LEASE_MS, WINDOW_MS
from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import Event, Reading
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot, Record, state_name
from snapgloss.runs.connect import HOST_VERSION
from snapgloss.runs.leases import NOT_PRESSED, PRESS, StepPlan, asks_for_stop
from snapgloss.runs.words import ASK

WAIT_S = 1.0
EARLY_MS = 5000
PROBE_WITHIN_S = 5.0
SILENCE_S = 15.0  # of the link's clock without any reading: the rig went away without a word


class StarvedError(RigError):
    """Leases came too late: the step may be done again at once, nothing was found out."""


class Attendant(Protocol):
    """Who is told, and may end the drive by raising in `look_up`."""

    def say(self, words: str) -> None:
        """Take a sentence."""
        ...

    def look_up(self) -> None:
        """Called at least once a second."""
        ...


def follow_from_now(link: RigLink) -> None:
    """Want nothing of what was before: the journal is taken from where it stands now."""
    identity = link.hello(HOST_VERSION)
    link.take()
    link.follow_from(identity.newest_reading + 1, identity.newest_event + 1)


@dataclass
class Told:
    """What the rig told from the press on. Times are its own milliseconds.

    `hands_cause` is why it took hands for in the bowl, 0 for never (rigfw.numbers.BY_...).
    `ended_ms` is None while it drives on; `leased_ms` is its time at the last lease from here.
    """

    readings: list[Reading] = field(default_factory=list)
    stop_code: int = 0
    hands_cause: int = 0
    stopped_ms: int | None = None
    ended_ms: int | None = None
    leased_ms: int = 0
    is_new_boot: bool = False
    is_cable_out: bool = False

    def last_ms(self, is_so: Callable[[Reading], bool]) -> int | None:
        """Time of the last reading of which that is so."""
        return next((one.at_ms for one in reversed(self.readings) if is_so(one)), None)


def whole(told: Told, key: str) -> Told:
    """What was told, unless power or cable cut the step short: no finding about the rig."""
    if told.is_new_boot and key != "hang":
        raise RigError(
            "The rig started anew in the middle of this step.",
            "Look at its supply and cables, then do the step again.",
        )
    if told.is_cable_out and key not in ("cable_out", "hang"):
        raise LinkError(
            "The cable came out in the middle of this step.", "Plug it in, do it again."
        )
    return told


class Drive:
    """One press, one plan. `act_at_s` after the press `act` is called, once; it must not wait.

    `lease_s` is for how long leases are kept (None: to the end). Ends when the rig leaves
    `testing`, restarts, or its cable is out. Raises RigError when it refuses or nobody presses.
    Whatever else ends it turns the rig off; when this program is killed, the rig closes the
    window of a test, and ends the test, 5 s after the last lease.
    """

    RUNNING: tuple[str, ...] = ("testing",)
    WORDS = PRESS

    def __init__(
        self,
        link: RigLink,
        plan: StepPlan,
        attendant: Attendant,
        act: Callable[[], None] | None = None,
        act_at_s: int = 5,
        lease_s: int | None = None,
    ) -> None:
        self._link, self._plan, self._attendant = link, plan, attendant
        self._act, self._act_at_s, self._lease_s = act, act_at_s, lease_s
        self._state = "asked"
        self._newest_ms = self._kept_ms = self._opened_ms = 0
        self._began_ms: int | None = None
        self.told = Told()

    def run(self) -> Told:
        """See Drive."""
        self._prepare()
        self._attendant.say(self.WORDS)
        self._heard_s = self._link.now_s()
        try:
            while not self._is_over():
                self._once()
        except LinkError:
            if self._state not in self.RUNNING:
                raise
            self.told.is_cable_out = True
        except BaseException:  # Ctrl-C and the page's "end" too: nothing may go on by itself
            with contextlib.suppress(LinkError, RigError):
                self._link.off()
            raise
        self._refuse_starved()
        return self.told

    def _once(self) -> None:
        self._attendant.look_up()
        self._link.wait(WAIT_S)
        records = self._link.take()
        for record in records:
            self._take(record)
        self._heard_s = self._link.now_s() if records else self._heard_s
        if self._link.now_s() - self._heard_s > SILENCE_S:
            raise LinkError("The rig tells nothing any more.", "Look at its cable.")
        self._keep_going(records)

    def _refuse_starved(self) -> None:
        """Leases that came too late are this computer's fault, not a finding about the rig."""
        told = self.told
        if told.ended_ms is None or told.stop_code or self._lease_s is not None:
            return
        assert self._began_ms is not None
        early = told.ended_ms - self._began_ms < 1000 * self._plan.most_s - EARLY_MS
        if early and told.ended_ms - told.leased_ms >= LEASE_MS:
            raise StarvedError(
                "The test ended early: this computer was too slow with its leases.",
                "Close other programs, then do the step again.",
            )

    def _prepare(self) -> None:
        follow_from_now(self._link)
        until_s = self._link.now_s() + PROBE_WITHIN_S
        while self._link.now_s() < until_s and not self._sees_probe():
            self._link.wait(WAIT_S)
        self._ask()

    def _ask(self) -> None:
        self._lease(0)  # before and at once: only a window that is kept is let go with its host
        self._link.ask_test(*self._plan.powers, self._plan.plate_mc, self._plan.most_s)
        self._lease(0)

    def _sees_probe(self) -> bool:
        """A rig that was just switched on gives no reading yet, and would refuse for that."""
        return any(isinstance(one, Reading) and one.product_mc for one in self._link.take())

    def _is_over(self) -> bool:
        told = self.told
        # Why it did so comes after the state itself.
        why = {"stopped": told.stop_code, "hands_in": told.hands_cause}.get(self._state, 1)
        return (told.ended_ms is not None and why != 0) or told.is_new_boot

    def _take(self, record: Record) -> None:
        told = self.told
        if isinstance(record, Reading | Event):
            self._newest_ms = record.at_ms
        if isinstance(record, Boot):
            told.is_new_boot = True
        elif isinstance(record, Event) and record.kind == "stop":
            told.stop_code, told.stopped_ms = record.a, record.at_ms
        elif isinstance(record, Event) and record.kind == "hands":
            told.hands_cause = record.a
        elif isinstance(record, Event) and asks_for_stop(record):
            self._attendant.say(ASK["press_stop"])
        elif isinstance(record, Event) and record.kind == "state":
            self._moved(state_name(record.a), record.at_ms)
        elif isinstance(record, Reading) and self._state in self.RUNNING:
            told.readings.append(record)

    def _moved(self, state: str, at_ms: int) -> None:
        before, self._state = self._state, state
        if state in self.RUNNING and self._began_ms is None:
            self._began_ms = at_ms
        elif before in self.RUNNING and state not in self.RUNNING:
            self.told.ended_ms = at_ms
        elif state == "off" and before == "ready":
            raise self._not_pressed(at_ms)
        elif state == "ready":
            self._opened_ms = at_ms

    def _not_pressed(self, at_ms: int) -> RigError:
        """Nobody came, or this computer let go of the window before anybody could."""
        is_early = at_ms - self._opened_ms < WINDOW_MS - EARLY_MS
        if is_early and at_ms - self._kept_ms >= LEASE_MS:
            return StarvedError(
                "The start window closed early: this computer was too slow to keep it.",
                "Close other programs, then do the step again.",
            )
        return RigError(NOT_PRESSED, "Run the step again, and press.")

    def _keep_going(self, records: list[Record]) -> None:
        """A lease with each reading; at its time the act; never a lease after `lease_s`.

        Before the press a lease is refused, and keeps the window open."""
        if self._state not in self.RUNNING or not self.told.readings or self._began_ms is None:
            self._first_lease()
            return
        spent_s = (self.told.readings[-1].at_ms - self._began_ms) / 1000
        if self._act is not None and spent_s >= self._act_at_s:
            act, self._act = self._act, None
            act()
        if records and (self._lease_s is None or spent_s < self._lease_s):
            self._lease(self.told.readings[-1].at_ms)

    def _first_lease(self) -> None:
        if self._state == "ready" or (self._state in self.RUNNING and self._began_ms is not None):
            self._lease(self._began_ms or 0)

    def _lease(self, at_ms: int) -> None:
        self._kept_ms = self._newest_ms
        try:
            self._link.lease(*self._plan.powers)
            self.told.leased_ms = at_ms
        except RigError:
            return  # not pressed yet, or just ended; the event that says so is on its way


class WindowDrive(Drive):
    """No press: the start window alone, in which the person does something else.

    Ends when the rig leaves it. Raises RigError where the rig wants its stop button tried first.
    """

    RUNNING = ("ready",)
    WORDS = "The rig waits for its start button: do not press it."

    def _take(self, record: Record) -> None:
        if isinstance(record, Event) and asks_for_stop(record):
            raise RigError(
                "The rig wants its stop button tried first, as once every day.",
                "Do stop_in_test, then this step again.",
            )
        super()._take(record)

    def _refuse_starved(self) -> None:
        """It has no leases to be late with."""


class BatchDrive(Drive):
    """A short batch instead of a test: one work step, judged by all that watches in a batch.

    Ends when the rig takes hands for in the bowl, stops, or has spent `most_s`.
    """

    RUNNING = ("working", "rewarming")

    def __init__(
        self, link: RigLink, body: bytes, attendant: Attendant, act: Callable[[], None],
        act_at_s: int,
    ) -> None:  # fmt: skip
        super().__init__(link, StepPlan(1, 0, 0, 0, 600), attendant, act, act_at_s)
        self._body = body

    def _ask(self) -> None:
        digest = self._link.upload(self._body)
        self._lease(0)
        self._link.ask_start(digest)
        self._lease(0)

    def _lease(self, at_ms: int) -> None:
        if self._began_ms is None:  # it keeps the window; the batch itself needs none
            super()._lease(at_ms)
        self.told.leased_ms = at_ms

    def _is_over(self) -> bool:
        spent = self.told.readings and self._began_ms is not None
        if (
            spent
            and self.told.readings[-1].at_ms - (self._began_ms or 0) > 1000 * self._plan.most_s
        ):
            return True
        return super()._is_over()
