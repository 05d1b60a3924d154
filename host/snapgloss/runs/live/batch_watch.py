"""Watches one batch for all pages: what run_batch tells becomes moments and points of the feed."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from snapgloss.base.clock import Clock
from snapgloss.base.errors import SnapglossError
from snapgloss.base.records import Event, Reading, Status
from snapgloss.link.decode import Boot, Record, prompt_name
from snapgloss.runs import sources
from snapgloss.runs.live.ahead import ahead_of
from snapgloss.runs.live.feed import Feed, Point
from snapgloss.runs.live.moment import Ahead, Moment, Said, with_outputs, with_progress
from snapgloss.runs.live.pour_count import PourCount
from snapgloss.runs.live.staged import Staged
from snapgloss.runs.live.window_clock import WindowClock
from snapgloss.runs.moment import Progress
from snapgloss.runs.watch import Leave

if TYPE_CHECKING:
    from snapgloss.store.store import Store

SAID_MOST = 12
AHEAD_EVERY_S = 10.0  # wall time: a forecast moves slowly
PEDAL = 1  # of the event "hands"


class BatchWatch:
    """A Watch. `heard` is what the link gives; it is shown with the next `progress`.

    `board` and the plan's digest name the batch in the record; `is_ending` tells that the
    program ends, so the batch is left to the rig.
    """

    def __init__(
        self, feed: Feed, store: "Store", staged: Staged, board: str, pour: PourCount,
        clock: Clock, is_ending: Callable[[], bool],
    ) -> None:  # fmt: skip
        self._feed, self._store, self._staged, self._board = feed, store, staged, board
        self._pour, self._clock, self._is_ending = pour, clock, is_ending
        self._window = WindowClock(staged.plan.window_low_mc, staged.plan.window_high_mc)
        self._waiting: list[Record] = []
        self._moment = replace(self._feed.moment, **_beginning(staged))
        self._shift_ms, self._zero_ms = 0, -1
        self._asks = "none"
        self._ahead_at_s, self._ahead_step = -AHEAD_EVERY_S, 0

    def heard(self, records: list[Record]) -> None:
        """Take what the rig told, before anybody has judged it."""
        self._waiting += records

    def join(self, run_id: int) -> None:
        """Tell again what the record holds of a batch that goes on."""
        parts = self._store.parts(run_id)
        self._zero_ms = parts[0].start_ms
        points = [self._point(r) for r in self._store.readings(run_id) if self._follow(r)]
        self._shift_ms = parts[-1].shift_ms
        self._feed.begin_anew(points)
        for event in self._store.events(run_id):
            self._hear_event(event, counted=False)

    def say(self, at_s: int, words: str) -> None:
        """Take one sentence, and show it at once: what follows may take long."""
        said = (*self._moment.said, Said(at_s, words))[-SAID_MOST:]
        self._moment = replace(self._moment, said=said)
        self._feed.tell(self._moment)

    def lost(self, words: str) -> None:
        """The rig is gone and is looked for."""
        self._moment = replace(self._moment, is_there=False, trouble=words)
        self._feed.tell(self._moment)

    def progress(self, progress: Progress) -> None:
        """Show the present moment, and the points that came with it."""
        if self._is_ending():
            raise Leave
        records, self._waiting = self._waiting, []
        points = self._points(records, progress)
        newest = next((r for r in reversed(records) if isinstance(r, Reading)), None)
        if newest is not None:
            self._moment = with_outputs(self._moment, newest)
        self._moment = self._with_all(with_progress(self._moment, progress, self._asks), progress)
        self._feed.tell(self._moment, points, newest is not None)

    def _with_all(self, moment: Moment, progress: Progress) -> Moment:
        if self._pour.ready_at_s is None and self._window.has_begun:
            self._pour.ready_at_s = progress.at_s - self._window.working_s
        return replace(
            moment,
            run=self._run_id(),
            inside_s=self._window.inside_s if self._window.has_begun else None,
            pouring=self._pour.now(progress.at_s, progress.batch_left_s),
            ahead=self._ahead(progress),
        )

    def _run_id(self) -> int:
        """The number of this batch, looked up until there is one."""
        if self._moment.run or self._zero_ms < 0:
            return self._moment.run
        run_id = self._store.open_run(self._board, self._staged.plan.digest) or 0
        if run_id and self._pour.kept.run != run_id:
            self._pour.begin(run_id, self._staged.moulds)
            self._keep_sources(run_id)
        return run_id

    def _keep_sources(self, run_id: int) -> None:
        """Say what went in, once, as soon as the record has the run. It must not end a batch."""
        try:
            sources.keep(self._store, run_id, self._pour.kept.sources)
        except SnapglossError as fault:
            self.say(self._moment.at_s, f"What went in was not kept: {fault}")

    def _ahead(self, now: Progress) -> Ahead:
        """The words at once, the curve now and then."""
        known, at_s = self._moment.ahead, self._clock.now_s()
        is_due = at_s - self._ahead_at_s >= AHEAD_EVERY_S or now.step_no != self._ahead_step
        plan = self._staged.plan
        course, spread = (self._staged.course if is_due else None), self._staged.spread
        found = ahead_of(plan.steps, plan.forecast_s, course, now, known.version + is_due, spread)
        if not is_due:
            return replace(found, curve=known.curve)
        self._ahead_at_s, self._ahead_step = at_s, now.step_no
        return found

    def _points(self, records: list[Record], progress: Progress) -> list[Point]:
        points = []
        for record in records:
            if isinstance(record, Boot):
                self._turn_to_boot()
            elif isinstance(record, Event):
                self._hear_event(record, counted=True, at_s=progress.at_s)
            elif isinstance(record, Status):
                self._asks = record.prompt
            elif isinstance(record, Reading) and self._follow(self._shifted(record)):
                points.append(self._point(self._shifted(record)))
        return points

    def _turn_to_boot(self) -> None:
        """The rig's times begin anew; the record knows by how much to move them."""
        if self._moment.run:
            self._shift_ms = self._store.parts(self._moment.run)[-1].shift_ms

    def _shifted(self, reading: Reading) -> Reading:
        return reading._replace(at_ms=reading.at_ms + self._shift_ms)

    def _follow(self, reading: Reading) -> bool:
        """True for a reading of the batch itself; the first one is its zero."""
        if self._zero_ms < 0 and reading.step_no > 0:
            self._zero_ms = reading.at_ms
        self._window.take(reading)
        return self._zero_ms >= 0

    def _point(self, r: Reading) -> Point:
        at_s = (r.at_ms - self._zero_ms) / 1000
        return Point(round(at_s, 1), r.product_mc, r.target_mc, r.plate_mc, r.heat_permille)

    def _hear_event(self, event: Event, counted: bool, at_s: int = 0) -> None:
        if event.kind == "prompt":
            self._asks = prompt_name(event.a)
        elif event.kind in ("answered", "proven"):
            self._asks = "none"
        elif event.kind == "hands" and event.a == PEDAL and counted and self._is_pouring():
            self.count(at_s, 1)

    def _is_pouring(self) -> bool:
        return self._window.has_begun

    def plan_moulds(self, moulds: int) -> None:
        """Say how many there are. Raises InputError for what cannot be."""
        self._pour.plan(moulds)

    def count(self, at_s: int, by: int) -> None:
        """Count moulds; what is worth it is noted."""
        noted = self._pour.add(at_s, by)
        if noted and self._moment.run:
            self._store.add_note(self._moment.run, noted)


def _beginning(staged: Staged) -> dict[str, Any]:
    """What a moment says from the first of a batch on."""
    plan = staged.plan
    return {
        "run": 0, "title": plan.title, "staged": "", "ended": "", "said": (), "card": "",
        "window_low_mc": plan.window_low_mc, "window_high_mc": plan.window_high_mc,
        "inside_s": None, "ahead": Ahead(),
    }  # fmt: skip
