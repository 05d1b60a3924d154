"""Commissioning from a page: the steps of the command, their questions answered by touch.

The session's thread does the steps, as it does batches, and waits in a question; a page answers
from another thread. What a step drives, a press at the rig starts: nothing here can.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal, cast

from snapgloss.base.errors import InputError, LinkError, RigError, SnapglossError
from snapgloss.rigs.commissioning_steps import step_of
from snapgloss.runs import commissioning, words
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.hearing import heard_by
from snapgloss.runs.watch import Leave

if TYPE_CHECKING:
    from snapgloss.rigs.commissioning import Entry
    from snapgloss.rigs.commissioning_steps import Step
    from snapgloss.rigs.description import RigDescription
    from snapgloss.runs.commission_place import Place
    from snapgloss.runs.commissioning import Sheet

LOOK_S = 0.25
SAID_MOST = 8
FIGURE_MOST = 1e9

Asks = Literal["", "ready", "figure", "seen"]
Answered = Literal["done", "yes", "no", "skip"]
FITS: dict[str, tuple[str, ...]] = {"ready": ("done",), "seen": ("yes", "no", "skip"),
                                    "figure": ("skip",)}  # fmt: skip


@dataclass(frozen=True)
class Question:
    """Where it stands. `asks` says what kind of answer is waited for, "" for none; `number` names
    the question, so that a second touch answers no other. `unit` is that of a figure."""

    is_on: bool = False
    step_no: int = 0
    steps: int = 0
    key: str = ""
    words: str = ""
    must: str = ""
    asks: Asks = ""
    ask_words: str = ""
    unit: str = ""
    number: int = 0
    said: tuple[str, ...] = ()


class Ended(Exception):
    """A person left in the middle of a question."""


class _Sheet:
    """Writes a step, unless its person has left in the midst of it: that is no finding."""

    def __init__(self, sheet: "Sheet", has_left: Callable[[], bool]) -> None:
        self._sheet, self._has_left = sheet, has_left
        self.rig = sheet.rig

    def write(self, **values: Any) -> "Entry":
        """As a Sheet does. Raises Ended."""
        if self._has_left():
            raise Ended
        return self._sheet.write(**values)


class Proving:
    """The hands of a Place, which are at a page. `is_ending`: the program ends."""

    pulls_cable = True

    def __init__(
        self, sheet: "Sheet", keys: Sequence[str], name: str, is_ending: Callable[[], bool]
    ) -> None:
        self._rig = sheet.rig
        self._sheet = cast("Sheet", _Sheet(sheet, lambda: self._has_left))
        self._keys, self._name, self._is_ending = keys, name, is_ending
        self._changed = threading.Condition()
        self._answer: Answered | float | None = None
        self._has_left = False
        self._place: Place | None = None
        self._feed: Feed | None = None
        self.question = Question(is_on=True, steps=len(keys))

    @property
    def rig(self) -> "RigDescription":
        """The rig whose sheet it is."""
        return self._rig

    def run(self, place: "Place", feed: Feed) -> None:
        """Do the steps, as the command does. Raises Leave when the program ends; a step cut short
        leaves no entry, and ends it as one that failed."""
        self._place, self._feed = place, feed
        try:
            commissioning.prove(self._keys, place, self._sheet, self._name, self)
        except Ended:
            with suppress(LinkError, RigError):
                place.link.off()
        finally:
            self._set(is_on=False, asks="", ask_words="")

    # As the watch of the steps.

    def begins(self, step: "Step", number: int, of: int) -> None:  # noqa: ARG002
        """Show the step that begins; the link may be another than before."""
        self.look_up()
        self._listen_from_here()
        self._set(step_no=number, key=step.key, words=step.words, must=step.must)

    def done(self, entry: "Entry") -> None:
        """Say what came out."""
        self.say(f"{entry.key}: {entry.result}, {entry.words}")

    def cut_short(self, key: str, fault: SnapglossError) -> None:
        """Say why."""
        self.say(words.CUT_SHORT.format(key=key, why=fault))

    def _listen_from_here(self) -> None:
        if self._place is not None and self._feed is not None:
            self._place.link.on_taken = heard_by(self._feed)

    def answer(self, number: int, given: Answered | float) -> None:
        """Answer a question, from any thread. Raises InputError for one that does not wait, or
        with what does not answer it."""
        with self._changed:
            asked = self.question
            if not asked.asks or number != asked.number:
                raise InputError(words.NOT_ASKED, "")
            is_figure = asked.asks == "figure" and isinstance(given, float)
            if not is_figure and given not in FITS[asked.asks]:
                raise InputError(words.NO_ANSWER_TO_IT, "")
            if isinstance(given, float) and not -FIGURE_MOST < given < FIGURE_MOST:
                raise InputError(words.NO_ANSWER_TO_IT, "")
            self._answer = given
            self.question = replace(asked, asks="", ask_words="")
            self._changed.notify_all()

    def leave(self) -> None:
        """End it; what is done stays done, a step under way leaves no entry."""
        with self._changed:
            self._has_left = True
            self._changed.notify_all()

    # As the hands of a Place.

    def say(self, words: str) -> None:
        """Show a sentence; what the step is, stands there already."""
        if self.question.words and self.question.words in words:
            return
        self._set(said=(*self.question.said, words)[-SAID_MOST:])

    def begin(self, key: str) -> None:
        """Nothing: the words of the step say it."""

    def look_up(self) -> None:
        """Go on, unless somebody left or the program ends: then the drive turns the rig off."""
        if self._is_ending():
            raise Leave
        if self._has_left:
            raise Ended

    def act(self, key: str) -> None:
        """Say that it is time."""
        self.say(words.DO_IT_NOW.format(key=key))

    def ready(self, words: str) -> None:
        """Wait until it is done."""
        self._wait("ready", words)

    def figure(self, words: str, unit: str) -> float | None:
        """Wait for a figure."""
        given = self._wait("figure", words, unit)
        return given if isinstance(given, float) else None

    def seen(self, words: str, must: str) -> bool | None:
        """Wait for a look."""
        given = self._wait("seen", f"{words} {must.capitalize()}?")
        return None if given == "skip" else given == "yes"

    def _wait(self, asks: Asks, words: str, unit: str = "") -> Answered | float:
        with self._changed:
            self._answer = None
            number = self.question.number + 1
            self._set(asks=asks, ask_words=words, unit=unit, number=number)
            while self._answer is None:
                self.look_up()
                self._changed.wait(LOOK_S)
                self._listen()
            return self._answer

    def _listen(self) -> None:
        """Let the page show what the rig reads meanwhile, where no step of the rig's own waits
        for what it tells."""
        key, place = self.question.key, self._place
        if place is None or step_of(key).how == "rig":
            return
        with suppress(LinkError, RigError):
            place.link.wait(0.0)
            place.link.take()

    def _set(self, **changes: object) -> None:
        self.question = replace(self.question, **changes)  # type: ignore[arg-type]
