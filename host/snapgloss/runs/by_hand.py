"""Temper by hand with the rig's probe as thermometer: same sentences, same record, no heater.

The rig stays off all the while; nothing is asked of it but its readings.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol

from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.chocolate.types import ChocolateType, type_of
from snapgloss.link.decode import Boot, Record
from snapgloss.quality.hand_coach import Coach, Said
from snapgloss.quality.words import sentence
from snapgloss.runs.fitted import probes_at
from snapgloss.runs.importing import BY_HAND
from snapgloss.runs.outcome import end_unfinished, keep_figures
from snapgloss.runs.recorder import Recorder
from snapgloss.store import NewRun
from snapgloss.store.rows import ProbeRow

if TYPE_CHECKING:
    from snapgloss.store.store import Store

IDLE = ("off", "finished", "stopped", "locked")
WAIT_S = 1.0
ANSWER_MS = 20_000
"""A simulated person answers so long after the question."""
DONE = "Tempered by hand."
STARTED = "Tempered by hand until the rig was started."
ANEW = "Tempered by hand until the rig started anew."
CUT = "Tempered by hand until this program was killed."
PULLED = "Tempered by hand until the cable came out."


class HandPlan(NamedTuple):
    """What is tempered, and how. Mass in grams; probes as far as they are known, lots of bags."""

    chocolate: str
    type: str
    method: str
    mass_g: int
    liquid: bool = False
    workshop: str = ""
    probes: tuple[ProbeRow, ...] = ()
    lots: tuple[str, ...] = ()
    answers_itself: bool = False
    """On the virtual rig: the simulated person says what is done, too."""

    def with_probes(self, data: Path, rig: Identity | None) -> "HandPlan":
        """The plan with what is known of the probes of the rig that answered."""
        return self._replace(probes=probes_at(data, rig, type_of(self.type).work.default_mc))


class Link(Protocol):
    """What is needed of snapgloss.link.client.RigLink."""

    identity: Identity | None

    def follow_from(self, reading_seq: int, event_seq: int) -> None: ...  # noqa: D102
    def wait(self, at_most_s: float) -> bool: ...  # noqa: D102
    def take(self) -> list[Record]: ...  # noqa: D102
    def now_s(self) -> float: ...  # noqa: D102


class HandWatch(Protocol):
    """Who is told, and says when it is done; `at_s` are seconds since the beginning."""

    def say(self, at_s: int, words: str) -> None:
        """Take a sentence."""
        ...

    def show(self, at_s: int, state: str, product_mc: int | None) -> None:
        """Take the present moment."""
        ...

    def presses(self) -> int:
        """How often the person said "done" since the last call."""
        ...


class HandResult(NamedTuple):
    """The run, None when no reading ever came, and how it went in words."""

    run_id: int | None
    words: str


def temper_by_hand(
    plan: HandPlan,
    link: Link,
    store: "Store",
    watch: HandWatch,
    fahrenheit: bool = False,
) -> HandResult:
    """Coach and record until Ctrl-C, until the rig is started, or until the cable is out.

    Raises RigError when the rig is at work, and StoreError.
    """
    identity = link.identity
    if identity is None:
        raise LinkError("This link has not been introduced.", "Say hello first.")
    if identity.state not in IDLE:
        raise RigError("The rig is at work.", "Turn it off, or wait until it is done.")
    return _Session(plan, link, store, watch, identity, fahrenheit).run()


class _Session:
    def __init__(
        self, plan: HandPlan, link: Link, store: "Store", watch: HandWatch, identity: Identity,
        fahrenheit: bool,
    ) -> None:  # fmt: skip
        self._plan, self._link, self._store, self._watch = plan, link, store, watch
        self._identity = identity
        kind = type_of(plan.type)
        self._coach = Coach(kind, plan.method, plan.mass_g, plan.liquid, fahrenheit)
        self._new = _new_run(plan, kind, identity)
        self._recorder = Recorder(store, store.boot_id(identity), link.now_s())
        self._run_id: int | None = None
        self._start_ms = self._last_ms = self._asked_ms = 0
        self._own_seq = store.next_own_seq(self._recorder.boot_id)

    def run(self) -> HandResult:
        there = self._identity
        for left in self._store.open_runs(there.board):
            if left.rig == BY_HAND:  # this program was killed in it
                end_unfinished(self._store, left.id, CUT)
                keep_figures(self._store, left.id)
        self._link.follow_from(there.newest_reading + 1, there.newest_event + 1)
        try:
            why = None
            while why is None:
                self._link.wait(WAIT_S)
                why = self._take(self._link.take())
                if self._run_id is not None:
                    self._answers()
                if self._recorder.is_due(self._link.now_s()):
                    self._recorder.flush(self._link.now_s())
        except KeyboardInterrupt:
            why = DONE
        except LinkError:
            why = PULLED
        try:
            return self._end(why)
        except KeyboardInterrupt:  # pressed twice: the record is closed all the same
            return self._end(why)

    def _take(self, records: Sequence[Record]) -> str | None:
        """Take what came; return why it is over, or None."""
        for record in records:
            if isinstance(record, Boot):
                return ANEW
            if not isinstance(record, Reading):
                self._recorder.add(record)
                continue
            if record.state not in IDLE:
                return STARTED
            self._reading(record)
        return None

    def _reading(self, reading: Reading) -> None:
        if self._run_id is None:
            self._start_ms = reading.at_ms
            boot_id = self._recorder.boot_id
            probes = self._plan.probes
            self._run_id = self._store.begin_run(
                self._new, boot_id, reading.at_ms, None, probes, self._plan.lots
            )
        asked = self._coach.asks
        said = self._coach.take(reading.at_ms, reading.product_mc)
        self._last_ms = reading.at_ms
        if self._coach.asks != asked:
            self._asked_ms = reading.at_ms
        # The bowl is not on the plate: how warm that is says nothing of this batch.
        here = reading._replace(state=said.state, step_no=said.step_no, plate_mc=None)
        self._recorder.add(here._replace(target_mc=said.target_mc))
        self._keep(said)
        self._watch.show(self._at_s, said.state, reading.product_mc)

    def _answers(self) -> None:
        """What the person at the keys, or the simulated one, says is done."""
        for _ in range(self._watch.presses()):
            self._keep(self._coach.answer(self._last_ms))
        waited_ms = self._last_ms - self._asked_ms
        if self._plan.answers_itself and self._coach.asks and waited_ms >= ANSWER_MS:
            self._keep(self._coach.answer(self._last_ms))

    @property
    def _at_s(self) -> int:
        return (self._last_ms - self._start_ms) // 1000

    def _keep(self, said: Said) -> None:
        """Tell the person, and the record, as a rig would have told it."""
        for kind, a, b in said.told:
            self._recorder.add(Event(self._own_seq, self._last_ms, kind, a, b))
            self._own_seq += 1
        for words in said.words:
            self._watch.say(self._at_s, words)

    def _end(self, why: str) -> HandResult:
        self._recorder.flush(self._link.now_s())
        if self._run_id is None:
            return HandResult(None, "No reading came, so there is no record.")
        self._store.end_run(self._run_id, self._last_ms, "finished", why)
        verdict = keep_figures(self._store, self._run_id)[1]
        words = f"{why} {sentence(verdict)}".strip()
        self._store.end_run(self._run_id, self._last_ms, "finished", words)
        return HandResult(self._run_id, words)


def _new_run(plan: HandPlan, kind: ChocolateType, identity: Identity) -> NewRun:
    return NewRun(
        "", "", plan.chocolate, plan.type, plan.method, plan.mass_g, kind.work.low_mc,
        kind.work.high_mc, kind.work.default_mc, BY_HAND, identity.simulated, None, plan.workshop,
    )  # fmt: skip
