"""The one live session: a thread that owns the rig's port and runs batches on it, one by one.

It looks for the rig, watches it while nothing is tempered, sends what was staged, and joins what
is under way. The batch itself is `run_batch`, the same that the command line calls. The rig needs
none of it: when this program ends, the rig carries on.
"""

import logging
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.base.errors import CableOut, LinkError, SnapglossError
from snapgloss.link.backoff import Backoff
from snapgloss.link.client import RigLink
from snapgloss.runs import connect, words
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.batch import run_batch
from snapgloss.runs.commission_place import Place
from snapgloss.runs.commission_places import at_a_rig, on_a_virtual_rig
from snapgloss.runs.ending import RunResult
from snapgloss.runs.fitted import probes_at
from snapgloss.runs.live.batch_watch import BatchWatch
from snapgloss.runs.live.commands import Commands
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.idle_watch import IdleWatch
from snapgloss.runs.live.kept import Kept, read_kept, write_kept
from snapgloss.runs.live.leftovers import Leftovers
from snapgloss.runs.live.pour_count import PourCount
from snapgloss.runs.live.proving import Proving
from snapgloss.runs.live.sample_run import sample_run
from snapgloss.runs.live.staged import Staged
from snapgloss.runs.sample_words import SampleWords, about_of
from snapgloss.runs.seek import Seeker
from snapgloss.runs.watch import Leave

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store.store import Store

AGAIN_FIRST_S, AGAIN_MOST_S = 0.5, 4.0
WAIT_S = 1.0
SEEK_S = 7 * 24 * 3600  # as long as the program runs; a kitchen may pause over a weekend
END_WITHIN_S = 15.0

OpenLink = Callable[[str], RigLink]


class Session(Commands):
    """Start it, read `feed`, give it commands from any thread, stop it.

    `find_port` names the port to try, empty when there is none; it is asked again and again.
    `on_end` is told of each batch that is over. `board` is the only one that is meant, empty for
    any; `place` is the folder of what is kept of this rig alone, by default the data folder.
    `open_link`, `clock` and `pause`, which lets seconds pass, are for tests.
    """

    def __init__(
        self, store: "Store", folder: Path, rig: "RigDescription", find_port: Callable[[], str],
        on_end: Callable[[RunResult], None] = lambda _result: None,
        open_link: OpenLink = connect.connect, clock: Clock | None = None, board: str = "",
        place: Path | None = None, pause: Callable[[float], object] | None = None,
    ) -> None:  # fmt: skip
        super().__init__(store, Feed(clock))
        self.folder, self.rig, self._board = folder, rig, board
        self._place = place or folder
        self._find_port, self._on_end, self._open_link = find_port, on_end, open_link
        self._clock = clock or SystemClock()
        self._ending = threading.Event()
        self._backoff = Backoff(AGAIN_FIRST_S, AGAIN_MOST_S)
        self._was_there = False
        self._pause = pause or self._ending.wait
        self._kept: Kept = read_kept(self._place)
        self.samples: SampleWords | None = None
        self._thread = threading.Thread(target=self._run, name="live session", daemon=True)

    @property
    def is_ending(self) -> bool:
        """True once the program wants to end."""
        return self._ending.is_set()

    def open_link(self, port: str) -> RigLink:
        """Open the port as this session does."""
        return self._open_link(port)

    def start(self) -> None:
        """Begin to look for the rig."""
        self._thread.start()

    def end(self) -> None:
        """Begin to let the rig go; `stop` waits until that is done."""
        self._ending.set()

    def stop(self) -> None:
        """Let the rig go; a batch under way is left to it. Returns when that is done."""
        self.end()
        self._thread.join(END_WITHIN_S)

    def _run(self) -> None:
        while not self._ending.is_set():
            try:
                self._attend(self._find_port())
            except Leave:
                return
            except SnapglossError as fault:
                self._away(self._trouble(fault))
            except Exception:  # a fault of ours ends no other batch, and is told
                logging.getLogger(__name__).exception("The live session")
                self._away(words.FAULT)
            self._pause(self._backoff.next_s())

    def _trouble(self, fault: SnapglossError) -> str:
        """What keeps the rig away, for somebody who has no command to run again."""
        if isinstance(fault, CableOut) and self._was_there:
            return words.CABLE_OUT
        if isinstance(fault, LinkError) and fault.remedy != words.PLUG_IN:
            return words.TRYING_AGAIN.format(why=fault)
        return str(fault)

    def _away(self, trouble: str) -> None:
        """No rig, or no record: say so, and keep what is known of the last batch."""
        moment = replace(self.feed.moment, is_there=False, trouble=trouble)
        self.feed.tell(moment)

    def _attend(self, port: str) -> None:
        """Be there for the rig at a port until its cable comes out."""
        if not port:
            raise LinkError(words.NO_RIG, words.PLUG_IN)
        self.link = self._meant(self._open_link(port), port)
        self._backoff.reset()
        self._was_there = True
        try:
            while not self._ending.is_set():
                self._once(self.link, port)
        finally:
            link, self.link = self.link, None
            if link is not None:
                link.close()

    def _meant(self, link: RigLink, port: str) -> RigLink:
        """The link, if it leads to the rig that is meant; else a command would reach another."""
        found = link.identity.board if link.identity else ""
        if self._board and found != self._board:
            link.close()
            said = outcomes.ANOTHER.format(board=found, wanted=self._board)
            raise LinkError(f"{port}: {said}", words.PLUG_IN)
        return link

    def _once(self, link: RigLink, port: str) -> None:
        """One batch, or a while of nothing."""
        if self.proving is not None and self.proving.question.is_on:
            self._prove(self.proving, link, port)
            return
        there = link.hello(connect.HOST_VERSION)
        leftovers = Leftovers(self.store, self.rig, self._kept)
        staged = self.take_staged()
        if staged is not None:
            self._keep(staged)
            self._temper(staged, link, port)
            return
        found, said = leftovers.of(link, there)
        if found is not None:
            self._temper(found, link, port)
            return
        sample = sample_run(self.folder, self.store, there.simulated, self.samples)
        self.samples = sample.words if sample else None
        IdleWatch(self.feed, link, there, said, sample).run(self._may_idle)

    def _may_idle(self) -> bool:
        return not (self._ending.is_set() or self.has_staged or self.is_proving)

    def _prove(self, proving: Proving, link: RigLink, port: str) -> None:
        """Do steps of commissioning; the link that is there afterwards is the session's.

        In a simulated rig's stead one of its own is proved, warm as the steps want it, by
        simulated hands; the person at the page answers what is asked.
        """
        assert link.identity is not None
        if not link.identity.simulated:
            at_it = at_a_rig(self.rig, self._links(link, port))
            with at_it(proving) as place:
                proving.run(place, self.feed)
            return
        try:
            with on_a_virtual_rig(proving.rig)(proving) as place:
                self._track(place)
                proving.run(place, self.feed)
        finally:
            self.link = link

    def _links(self, link: RigLink, port: str) -> Callable[[], RigLink]:
        """What gives the link that is open, then, after its cable was out, another."""
        links = [link]

        def opened() -> RigLink:
            self.link = links.pop() if links else self._open_link(port)
            return self.link

        return opened

    def _track(self, place: Place) -> None:
        """Let off reach the rig of a place, whatever link it opens."""
        self.link, open_anew = place.link, place.reopen

        def opened() -> RigLink:
            self.link = open_anew()
            return self.link

        place.reopen = opened

    def _temper(self, staged: Staged, link: RigLink, port: str) -> None:
        assert link.identity is not None
        pour = PourCount(self._place, self._kept, staged.good_min)
        watch = BatchWatch(
            self.feed, self.store, staged, link.identity.board, pour, self._clock,
            self._ending.is_set,
        )  # fmt: skip
        self.watch, link.on_taken = watch, watch.heard
        self._tell_again(watch, staged, link)
        seek = _Seek(self, watch, port)
        probes = probes_at(self.folder, link.identity, staged.plan.work_mc)
        plan = replace(staged.plan, probes=probes)
        about = about_of(plan, link.identity.simulated)
        try:
            self.samples = SampleWords(self.folder, about, self.store)
            result = run_batch(plan, link, self.store, watch, seek=seek, samples=self.samples)
            self._ended(result)
        except SnapglossError as fault:
            self._refused(fault)
        finally:
            self.watch = None

    def _tell_again(self, watch: BatchWatch, staged: Staged, link: RigLink) -> None:
        assert link.identity is not None
        run_id = self.store.open_run(link.identity.board, staged.plan.digest)
        if run_id is None:
            self.feed.begin_anew()
        else:
            watch.join(run_id)

    def _keep(self, staged: Staged) -> None:
        """Remember what is sent, for a program that is started anew meanwhile."""
        plan = staged.plan
        self._kept.digest, self._kept.schedule_toml = plan.digest, plan.schedule_toml
        self._kept.workshop, self._kept.room_c = plan.workshop, staged.room_c
        self._kept.run, self._kept.moulds = 0, staged.moulds
        self._kept.done, self._kept.poured_at_s = 0, -1
        self._kept.put(staged.sources)
        write_kept(self._place, self._kept)

    def _ended(self, result: RunResult) -> None:
        if result.outcome == "left":
            raise Leave
        moment = replace(self.feed.moment, ended=result.words, staged="", now="", asks="")
        self.feed.tell(moment)
        self._on_end(result)
        if result.outcome == "link_lost":
            raise LinkError(result.words, "")

    def _refused(self, fault: SnapglossError) -> None:
        """A batch that did not begin, or cannot be recorded, is told; the rig is still there."""
        self.feed.tell(replace(self.feed.moment, ended=str(fault), staged="", now="", asks=""))
        if isinstance(fault, LinkError):
            raise fault
        self._ending.wait(AGAIN_FIRST_S)


class _Seek:
    """Finds the rig again in mid-batch, for as long as the program runs."""

    def __init__(self, session: Session, watch: BatchWatch, port: str) -> None:
        self._session, self._watch = session, watch
        with suppress(SnapglossError):
            self._seeker = Seeker(port, SEEK_S, open_link=self._open)

    def __call__(self, board: str, say: Callable[[str], None]) -> RigLink:
        """Return the link to that board; commands reach it from now on."""
        self._session.link = None
        self._watch.lost(words.LOOKING_FOR_IT)
        link = self._seeker(board, say)
        link.on_taken = self._watch.heard
        self._session.link = link
        return link

    def _open(self, port: str) -> RigLink:
        if self._session.is_ending:
            raise Leave
        return self._session.open_link(port)
