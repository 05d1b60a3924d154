"""One batch from upload to its figures. Nothing is printed here; a Watch is told.

The schedule belongs to the device: when this program ends, is interrupted, or loses the cable,
the rig carries on, and the same schedule run again joins the batch under way. A rig that starts
anew in mid-batch makes a new part of the same run.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

from snapgloss.base.errors import LinkError, StoreError
from snapgloss.base.records import Event, Identity, Reading, Sample, Status
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot, Record
from snapgloss.runs import connect, ending, leftover, rejoin, start, words
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.clock_words import tell_drift
from snapgloss.runs.ending import RunResult
from snapgloss.runs.live_card import LiveCard
from snapgloss.runs.patience import Patience
from snapgloss.runs.plan import BatchPlan
from snapgloss.runs.progress import ENDED, Tracker
from snapgloss.runs.recorder import Recorder
from snapgloss.runs.watch import Watch

if TYPE_CHECKING:
    from snapgloss.runs.sample_words import SampleWords
    from snapgloss.store.store import Store

PAUSE_S = 0.05  # between two drains, so that one transaction serves many pushes
SILENCE_S = 10.0  # wall time without a word before the rig is asked; it speaks every second

Seek = Callable[[str, Callable[[str], None]], RigLink]
"""Finds a board again by its id, telling why it takes long; see snapgloss.runs.seek."""


def run_batch(
    plan: BatchPlan, link: RigLink, store: "Store", watch: Watch, fahrenheit: bool = False,
    seek: Seek | None = None, samples: "SampleWords | None" = None,
) -> RunResult:  # fmt: skip
    """Upload, ask for the start, record until the rig is off, and work out the figures.

    With `seek` a rig that is lost in mid-batch is looked for; a link so found is closed here.
    `samples` follows the rig's sample probe, where it has one.
    Raises RigError when the rig refuses the schedule or the start, LinkError when the cable
    fails before the batch began. A cable lost later, and Ctrl-C, are outcomes: the rig goes on.
    """
    identity = link.identity
    if identity is None:
        raise LinkError("This link has not been introduced.", "Say hello first.")
    batch = _Batch(plan, link, store, watch, identity, fahrenheit, seek, samples)
    try:
        return batch.run()
    finally:
        if batch.link is not link:
            batch.link.close()


class _Batch:
    def __init__(
        self, plan: BatchPlan, link: RigLink, store: "Store", watch: Watch, identity: Identity,
        fahrenheit: bool, seek: Seek | None, samples: "SampleWords | None",
    ) -> None:  # fmt: skip
        self._plan, self.link, self._store, self._watch = plan, link, store, watch
        self._identity, self._fahrenheit, self._seek = identity, fahrenheit, seek
        self._samples = samples
        self._patience = Patience(link.now_s, link.let_pass, self._say)
        boot_id = store.boot_id(identity)
        self._recorder = Recorder(store, boot_id, link.now_s())
        self._tracker = self._new_tracker()
        self._card = LiveCard(store, link.now_s(), fahrenheit)
        self._run_id: int | None = None
        self._heard_at_s = link.now_s()

    def _new_tracker(self) -> Tracker:
        there = self._identity
        return Tracker(self._plan, there.simulated, there.state, self._fahrenheit)

    def run(self) -> RunResult:
        """See run_batch."""
        if not self._join():
            self._ask_start()
        try:
            while not (self._tracker.over and self._is_complete()):
                self._once_or_find_again()
            return self._result()
        except KeyboardInterrupt:
            return self._leave()
        except LinkError as fault:
            if self._run_id is None:
                raise
            self._keep_all()
            said = f"{fault.message} {outcomes.CARRIES_ON}"
            self._note(said)
            return RunResult(self._run_id, "link_lost", said, {})
        except StoreError as fault:
            remedy = f"{fault.remedy} {outcomes.NOT_RECORDED}".strip()
            raise StoreError(fault.message, remedy) from fault

    def _ask_start(self) -> None:
        held = self._store.last_seq(self._recorder.boot_id)
        self._recorder.add_all(start.missed(self.link, self._identity, held))
        there = start.ask(self._plan, self.link, self._identity, self._say)
        if there is not self._identity:
            self._identity, self._tracker = there, self._new_tracker()

    def _join(self) -> bool:
        """Go on with a batch under way, or end the record of one that ended unseen."""
        identity, boot_id = self._identity, self._recorder.boot_id
        self._say(leftover.settle(self._store, self.link, identity, boot_id, self._plan.digest))
        found = rejoin.find(self._store, self.link, identity, boot_id, self._plan.digest)
        if isinstance(found, str):
            self._say(found)
            return False
        self._run_id = found.run_id
        if self._run_id is not None:
            rejoin.add_lots(self._store, self._run_id, self._plan.lots)
            self._tracker.started_ms = self._store.parts(self._run_id)[0].start_ms
            self._tracker.shift_ms = self._store.parts(self._run_id)[-1].shift_ms
            self._tracker.step_no = outcomes.newest_step(self._store, self._run_id)
        if found.anew:
            self._new_part(identity, unheard=True)
        self._say(found.words, self._tracker.at_s_of(1000 * (identity.newest_reading + 1)))
        self._take(found.records)
        if identity.state in ENDED and not found.anew:
            self._take(self.link.catch_up(identity.newest_reading, identity.newest_event))
            self._tracker.end_in(identity.state)
        return True

    def _once_or_find_again(self) -> None:
        try:
            self._once()
        except LinkError as fault:
            if self._seek is None or self._run_id is None:
                raise
            self._find_again(fault, self._seek)

    def _once(self) -> None:
        start.keep_window(self.link, self._identity, self._tracker.started_ms)
        heard = self.link.wait(SILENCE_S)
        self.link.pause(PAUSE_S)
        self._take(self.link.take())
        if self._tracker.seems_over:
            self._ask_whether_over()
        now_s = self.link.now_s()
        if not heard and now_s - self._heard_at_s >= SILENCE_S:
            self._ask_after()
        self._tracker.behind = self.link.behind()
        if self._recorder.is_due(now_s):
            self._keep()
        if self._run_id is not None and self._card.is_due(now_s) and self._keep():
            self._look_for_card(self._run_id, now_s)
        self._watch.progress(self._tracker.progress())

    def _ask_after(self) -> None:
        """Nothing came for long: who is there? Raises LinkError when nobody is."""
        there = self.link.hello(connect.HOST_VERSION)
        self.link.expect(there.newest_reading, there.newest_event)
        self._heard_at_s = self.link.now_s()

    def _ask_whether_over(self) -> None:
        """A status says that all is off. It may have waited here while the rig went on."""
        now = self.link.hello(connect.HOST_VERSION)
        self._take(self.link.catch_up(now.newest_reading, now.newest_event))
        if now.boot_nonce == self._identity.boot_nonce:
            self._tracker.settle(now.state)

    def _look_for_card(self, run_id: int, now_s: float) -> None:
        new = self._card.look(run_id, now_s)
        self._tracker.card = self._card.words
        self._say(new)

    def _find_again(self, fault: LinkError, seek: Seek) -> None:
        """Look for the board, and go on in the same run wherever it is."""
        self._keep_all()
        self._say(f"{fault.message} {outcomes.LOOKING}")
        self.link.close()
        self.link = seek(self._identity.board, self._say)
        self._heard_at_s = self.link.now_s()
        self._say(outcomes.FOUND)
        found = self.link.identity
        assert found is not None
        if found.boot_nonce != self._identity.boot_nonce:
            self._turn_to(found, unheard=True)
            self.link.follow_from(0, 0)
        else:
            reading_seq, event_seq = self._store.last_seq(self._recorder.boot_id)
            self.link.follow_from(reading_seq + 1, event_seq + 1)
        self.link.expect(found.newest_reading, found.newest_event)

    def _take(self, records: list[Record]) -> None:
        if records:
            self._heard_at_s = self.link.now_s()
        for record in records:
            if isinstance(record, Boot):
                self._turn_to(record.identity)
            self._recorder.add(record)
            if isinstance(record, Reading):
                self._tell(self._tracker.take_reading(record), None)
            elif isinstance(record, Status):
                self._tracker.take_status(record)
            elif isinstance(record, Event):
                self._take_event(record)
            elif isinstance(record, Sample) and self._samples is not None:
                self._tell("", self._samples.take(record, self.link, self._run_id))
            self._begin_when_started()

    def _turn_to(self, identity: Identity, unheard: bool = False) -> None:
        """The rig started anew: its new boot is a new part of this run, if it is this rig."""
        wanted = self._identity.board
        if identity.board != wanted:
            said = outcomes.ANOTHER.format(board=identity.board, wanted=wanted)
            raise LinkError(said, "Plug the right rig in again.")
        self._keep_all()
        self._identity = identity
        boot_id = self._patience.insist(lambda: self._store.boot_id(identity))
        self._recorder = Recorder(self._store, boot_id, self.link.now_s())
        self._new_part(identity, unheard)

    def _new_part(self, identity: Identity, unheard: bool) -> None:
        shift_ms = 0
        run_id, boot_id = self._run_id, self._recorder.boot_id
        if run_id is not None:
            if unheard:
                self._patience.insist(lambda: outcomes.lose_the_rest(self._store, run_id))
            now_ms = 1000 * (identity.newest_reading + 1)
            self._patience.insist(lambda: self._store.add_part(run_id, boot_id, 0, now_ms))
            shift_ms = self._store.parts(run_id)[-1].shift_ms
        self._tracker.start_anew(identity.state, shift_ms)
        self._say(words.STARTED_ANEW)

    def _take_event(self, event: Event) -> None:
        self._tell(*self._tracker.take_event(event))
        if event.kind == "offer" and self._run_id is not None and not self._identity.simulated:
            self._say(outcomes.stood_still(self._store, self._run_id))

    def _tell(self, line: str | None, noted: str | None) -> None:
        for said in filter(None, (line, noted)):
            self._say(said)
        if noted:
            self._note(noted)

    def _say(self, said: str, at_s: int | None = None) -> None:
        if said:
            self._watch.say(self._tracker.at_s if at_s is None else at_s, said)

    def _begin_when_started(self) -> None:
        started_ms = self._tracker.started_ms
        if self._run_id is None and started_ms is not None:
            newest_ms = max(self._tracker.newest_ms, 1000 * (self._identity.newest_reading + 1))
            plan, boot_id = self._plan, self._recorder.boot_id
            new = plan.new_run(self._identity.simulated)
            begin = (new, boot_id, started_ms, newest_ms, plan.probes, plan.lots)
            self._run_id = self._patience.insist(lambda: self._store.begin_run(*begin))

    def _leave(self) -> RunResult:
        """Ctrl-C: a batch under way is left to the rig; an open start window is closed."""
        if self._tracker.started_ms is None:
            self.link.off()
            return RunResult(None, "left", outcomes.NOTHING_STARTED, {})
        self._recorder.flush(self.link.now_s())
        self._note(said := ending.why_left(self._tracker))
        return RunResult(self._run_id, "left", said, {})

    def _is_complete(self) -> bool:
        """Fetch what the end left behind. False when the rig was found to have started anew."""
        now = self.link.hello(connect.HOST_VERSION)
        if now.boot_nonce == self._identity.boot_nonce:
            self._take(self.link.catch_up(now.newest_reading, now.newest_event))
        elif self._tracker.ended_state != "finished":
            self._take(self.link.take())
        return self._tracker.over

    def _result(self) -> RunResult:
        self._keep_all()
        if self._run_id is None:
            return RunResult(None, "not_started", ending.why_not_started(self._tracker), {})
        tell_drift(self.link, self._note, self._say)
        run_id, anew = self._run_id, self._tracker.anew
        outcome, why = ending.why_ended(self._tracker)
        ended_ms = self._tracker.ended_ms or self._tracker.newest_ms
        return self._patience.insist(
            lambda: ending.close(
                self._store, run_id, ended_ms, outcome, why, anew, self._fahrenheit
            )
        )

    def _keep(self) -> bool:
        """Write what came, and tell whether it was written; else it waits in memory."""
        return self._patience.try_now(lambda: self._recorder.flush(self.link.now_s()))

    def _keep_all(self) -> None:
        self._patience.insist(lambda: self._recorder.flush(self.link.now_s()))
        text = self.link.take_console()
        self._patience.insist(lambda: self._recorder.keep_console(text))

    def _note(self, said: str) -> None:
        if (run_id := self._run_id) is not None:
            self._patience.insist(lambda: self._store.add_note(run_id, said))
