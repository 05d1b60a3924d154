"""One batch from upload to its figures. Nothing is printed here; a Watch is told.

The schedule belongs to the device: when this program ends, is interrupted, or loses the cable,
the rig carries on, and the same schedule run again joins the batch under way.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

from snapgloss.base.errors import LinkError, RigError, StoreError
from snapgloss.base.records import Event, Identity, Reading, Status
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Record
from snapgloss.quality.event_words import stop_words
from snapgloss.quality.words import sentence
from snapgloss.runs import connect, words
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.plan import BatchPlan
from snapgloss.runs.progress import ENDED, UNDER_WAY, Progress, Tracker
from snapgloss.runs.recorder import Recorder

if TYPE_CHECKING:
    from snapgloss.store.store import Store

PAUSE_S = 0.05  # between two drains, so that one transaction serves many pushes
SILENCE_S = 10.0  # wall time without a word before the rig is asked; it speaks every second

Ending = Literal["finished", "off", "stopped", "not_started", "left", "link_lost"]


class Watch(Protocol):
    """Who is told how a batch goes on."""

    def progress(self, progress: Progress) -> None:
        """Take the present moment; called a few times a second."""
        ...

    def say(self, at_s: int, words: str) -> None:
        """Take one sentence; at_s are device seconds since the batch began."""
        ...


@dataclass(frozen=True)
class RunResult:
    """How a batch ended. `run_id` is None when it never began; figures are as stored."""

    run_id: int | None
    outcome: Ending
    words: str
    figures: dict[str, float | None]


def run_batch(
    plan: BatchPlan, link: RigLink, store: "Store", watch: Watch, fahrenheit: bool = False
) -> RunResult:
    """Upload, ask for the start, record until the rig is off, and work out the figures.

    Raises RigError when the rig refuses the schedule or the start, LinkError when the cable
    fails before the batch began. A cable lost later, and Ctrl-C, are outcomes: the rig goes on.
    """
    identity = link.identity
    if identity is None:
        raise LinkError("This link has not been introduced.", "Say hello first.")
    return _Batch(plan, link, store, watch, identity, fahrenheit).run()


class _Batch:
    def __init__(
        self,
        plan: BatchPlan,
        link: RigLink,
        store: "Store",
        watch: Watch,
        identity: Identity,
        fahrenheit: bool,
    ) -> None:
        self._plan, self._link, self._store, self._watch = plan, link, store, watch
        self._identity = identity
        boot_id = store.boot_id(identity)
        self._recorder = Recorder(store, boot_id, link.now_s())
        self._tracker = Tracker(plan, identity.simulated, identity.state, fahrenheit)
        self._run_id: int | None = None
        self._heard_at_s = link.now_s()

    def run(self) -> RunResult:
        """See run_batch."""
        if not self._join():
            self._ask_start()
        try:
            while not self._tracker.over:
                self._once()
            return self._close()
        except KeyboardInterrupt:
            return self._leave()
        except LinkError as fault:
            if self._run_id is None:
                raise
            self._keep_all()
            said = f"{fault.message} {outcomes.CARRIES_ON}"
            self._store.add_note(self._run_id, said)
            return RunResult(self._run_id, "link_lost", said, {})
        except StoreError as fault:
            remedy = f"{fault.remedy} {outcomes.NOT_RECORDED}".strip()
            raise StoreError(fault.message, remedy) from fault

    def _ask_start(self) -> None:
        self._link.follow_from(self._identity.newest_reading + 1, self._identity.newest_event + 1)
        digest = self._link.upload(self._plan.body)
        self._link.ask_start(digest)

    def _join(self) -> bool:
        """Go on with a batch under way, or end the record of one that ended unseen."""
        identity, boot_id = self._identity, self._recorder.boot_id
        under_way = identity.state in UNDER_WAY
        if under_way and identity.digest_held != self._plan.digest:
            raise RigError(
                "The rig is in the middle of another batch.",
                "Let it finish, or turn it off at the rig, then try again.",
            )
        self._run_id = outcomes.open_run(self._store, boot_id, self._plan.digest)
        if not under_way and (self._run_id is None or identity.state not in ENDED):
            self._run_id = None
            return False
        if self._run_id is not None:
            self._tracker.started_ms = self._store.parts(self._run_id)[0].start_ms
        self._watch.say(0, outcomes.JOINED if under_way else outcomes.ENDED_UNSEEN)
        reading_seq, event_seq = self._store.last_seq(boot_id)
        self._link.follow_from(reading_seq + 1, event_seq + 1)
        self._take(self._link.catch_up(identity.newest_reading, identity.newest_event))
        if not under_way:
            self._tracker.end_in(identity.state)
        return True

    def _once(self) -> None:
        heard = self._link.wait(SILENCE_S)
        self._link.pause(PAUSE_S)
        self._take(self._link.take())
        if not heard and self._link.now_s() - self._heard_at_s >= SILENCE_S:
            self._take([self._link.ask_status()])  # raises LinkError when nobody is there
        self._watch.progress(self._tracker.progress())
        self._recorder.flush_when_due(self._link.now_s())

    def _take(self, records: list[Record]) -> None:
        if records:
            self._heard_at_s = self._link.now_s()
        for record in records:
            self._recorder.add(record)
            if isinstance(record, Reading):
                self._tracker.take_reading(record)
            elif isinstance(record, Status):
                self._tracker.take_status(record)
            elif isinstance(record, Event):
                self._take_event(record)
            self._begin_when_started()

    def _take_event(self, event: Event) -> None:
        line, warning = self._tracker.take_event(event)
        at_s = self._tracker.progress().at_s
        for said in filter(None, (line, warning)):
            self._watch.say(at_s, said)
        if warning and self._run_id is not None:
            self._store.add_note(self._run_id, warning)

    def _begin_when_started(self) -> None:
        started_ms = self._tracker.started_ms
        if self._run_id is None and started_ms is not None:
            self._run_id = self._store.begin_run(self._plan.new_run(self._identity.simulated))
            self._store.add_part(self._run_id, self._recorder.boot_id, started_ms)

    def _leave(self) -> RunResult:
        """Ctrl-C: a batch under way is left to the rig; an open start window is closed."""
        self._keep_all()
        if self._run_id is None:
            self._link.off()
            return RunResult(None, "left", outcomes.NOTHING_STARTED, {})
        self._store.add_note(self._run_id, outcomes.LEFT)
        return RunResult(self._run_id, "left", outcomes.LEFT, {})

    def _close(self) -> RunResult:
        now = self._link.hello(connect.HOST_VERSION)
        if now.boot_nonce != self._identity.boot_nonce and self._run_id is not None:
            return self._end("stopped", outcomes.RESTARTED)
        self._take(self._link.catch_up(now.newest_reading, now.newest_event))
        if self._run_id is None:
            self._keep_all()
            return RunResult(None, "not_started", self._why_not_started(), {})
        state = self._tracker.ended_state
        if state == "finished":
            return self._end("finished", "")
        if state == "off":
            return self._end("off", f"Turned off {self._where()}.")
        return self._end("stopped", f"Stopped: {stop_words(self._tracker.stop_code)}.")

    def _why_not_started(self) -> str:
        if self._tracker.stop_code:
            return f"Stopped: {stop_words(self._tracker.stop_code)}. {outcomes.NEVER_BEGAN}"
        return words.CLOSED

    def _where(self) -> str:
        step_no, steps = self._tracker.step_no, self._plan.steps
        return f"in step {step_no} of {len(steps)}" if step_no else "before the first step"

    def _keep_all(self) -> None:
        self._recorder.flush(self._link.now_s())
        self._recorder.keep_console(self._link)

    def _end(self, outcome: Literal["finished", "off", "stopped"], why: str) -> RunResult:
        """Close the run and work out its figures; `why` stands before the verdict."""
        assert self._run_id is not None
        self._keep_all()
        ended_ms = self._tracker.ended_ms or self._tracker.newest_ms
        self._store.end_run(self._run_id, ended_ms, outcome, why)
        figures, verdict = outcomes.keep_figures(self._store, self._run_id)
        said = f"{why} {sentence(verdict)}".strip()
        self._store.end_run(self._run_id, ended_ms, outcome, said)
        return RunResult(self._run_id, outcome, said, figures)
