"""What a person may say to the live session, from any thread. None of it can start heat."""

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from rigwire.tables import STEP_PROMPTS
from snapgloss.base.errors import InputError, LinkError, RigError
from snapgloss.link.client import RigLink
from snapgloss.runs import commissioning, grading, words
from snapgloss.runs.live.batch_watch import BatchWatch
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.proving import Answered, Proving, Question
from snapgloss.runs.live.staged import Staged
from snapgloss.runs.touches import MOMENTS
from snapgloss.runs.turn_off import turn_off

if TYPE_CHECKING:
    from snapgloss.runs.commissioning import Sheet
    from snapgloss.store.store import Store

IsEnding = Callable[[], bool]
MAY_STAGE = ("off", "finished", "ready")


class Commands:
    """The part of the session that takes commands. Each returns a sentence about what it did."""

    def __init__(self, store: "Store", feed: Feed) -> None:
        self.store, self.feed = store, feed
        self.link: RigLink | None = None
        self.watch: BatchWatch | None = None
        self._staged: Staged | None = None
        self.proving: Proving | None = None
        self._lock = threading.Lock()

    def off(self) -> str:
        """Turn all off. Raises LinkError when no rig answers."""
        return turn_off(self._rig(), self.feed.moment.state or "off").words

    def answer(self, prompt: str) -> str:
        """Answer what the rig asks, by the prompt's name; only what it asks now is answered.

        Raises InputError for a prompt that does not wait, LinkError or RigError from the rig.
        """
        if prompt not in STEP_PROMPTS[1:] or self.feed.moment.asks != prompt:
            raise InputError(words.NOT_ASKED, "")
        self._rig().answer(prompt)
        return words.ANSWERED["host"].format(what=words.SHORT[prompt])

    def moment(self, key: str) -> str:
        """Note a moment by its key in MOMENTS. Raises InputError for another, or without a run."""
        if key not in MOMENTS:
            raise InputError("There is no such moment.", f"There are: {', '.join(MOMENTS)}.")
        return self.note(MOMENTS[key])

    def note(self, said: str) -> str:
        """Write a note to the batch under way, or the last one. Raises InputError without one."""
        run_id = self.feed.moment.run or self._newest()
        grading.note(self.store, run_id, said, None, None)
        return said

    def count(self, by: int) -> str:
        """Count moulds filled, 1 more or 1 fewer. Raises InputError when nothing is poured."""
        watch = self.watch
        if watch is None or by not in (1, -1):
            raise InputError(words.NOTHING_POURED, "")
        watch.count(self.feed.moment.at_s, by)
        return ""

    def plan_moulds(self, moulds: int) -> str:
        """Say how many moulds are to be filled. Raises InputError for what cannot be."""
        watch = self.watch
        if watch is None:
            raise InputError(words.NOTHING_POURED, "")
        watch.plan_moulds(moulds)
        return ""

    def stage(self, staged: Staged) -> str:
        """Send a batch to the rig and ask for its start; a person presses there.

        Raises LinkError without a rig, RigError while it is busy.
        """
        self._rig()
        state = self.feed.moment.state
        if self.watch is not None or self.is_proving or state not in MAY_STAGE:
            raise RigError(words.BUSY.format(state=words.state_words(state).lower()), "")
        with self._lock:
            self._staged = staged
        return words.PRESS_START

    @property
    def is_proving(self) -> bool:
        """True while steps of commissioning are done, or about to be."""
        return self.proving is not None and self.proving.question.is_on

    @property
    def question(self) -> Question:
        """Where the steps of commissioning stand, the last ones when none is done."""
        return self.proving.question if self.proving is not None else Question()

    def prove(self, sheet: "Sheet", name: str, only: tuple[str, ...], is_ending: IsEnding) -> str:
        """Begin the open steps, or those named, each signed. Nothing is driven but by a press.

        Raises LinkError without a rig, RigError while it is busy, InputError for no name, or an
        unknown step.
        """
        identity = self._rig().identity
        if not self.feed.moment.is_there:  # whose sheet it is, is not known yet
            raise LinkError(words.NO_ANSWER, words.AT_THE_RIG)
        if self.watch is not None or self.has_staged or self.is_proving or identity is None:
            raise RigError(words.BUSY.format(state=self.feed.moment.step_words.lower()), "")
        keys = commissioning.wanted_keys(only, sheet)
        if not keys:
            raise InputError(words.NOTHING_OPEN, "")
        self.proving = Proving(sheet, keys, commissioning.signed(name), is_ending)
        return words.PROVING_BEGINS

    def answer_step(self, number: int, given: Answered | float) -> str:
        """Answer what a step asks. Raises InputError for what does not."""
        if self.proving is None:
            raise InputError(words.NOTHING_PROVED, "")
        self.proving.answer(number, given)
        return ""

    def leave_steps(self) -> str:
        """End commissioning; steps that are done stay done. Turns all off."""
        if self.proving is None or not self.is_proving:
            raise InputError(words.NOTHING_PROVED, "")
        self.proving.leave()
        with suppress(LinkError, RigError):  # a cable may be out, for the sake of a step
            self._rig().off()
        return ""

    @property
    def has_staged(self) -> bool:
        """True while something waits to be sent."""
        return self._staged is not None

    def take_staged(self) -> Staged | None:
        """Return what waits to be sent, once."""
        with self._lock:
            staged, self._staged = self._staged, None
        return staged

    def _rig(self) -> RigLink:
        link = self.link
        if link is None:
            raise LinkError(words.NO_ANSWER, words.AT_THE_RIG)
        return link

    def _newest(self) -> int:
        runs = self.store.runs()
        if not runs:
            raise InputError(words.NO_BATCH, "")
        return runs[0].id
