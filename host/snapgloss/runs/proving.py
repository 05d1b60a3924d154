"""A commissioning that others follow: one thread does the steps, others look, answer, end it.

For a page: `look` gives what to show, `answer` takes what a person gives to the question that
waits, `end` lets the rig go. What is written down is the sheet's; who begins anew goes on with the
first step that is open: a power cut, a closed page or a pulled cable costs the step it hit.
"""

import logging
import math
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.rigs.commissioning import Entry
from snapgloss.rigs.commissioning_steps import Step
from snapgloss.runs.commission_places import OpenPlace
from snapgloss.runs.commissioning import Sheet, prove, signed, wanted_keys

WAIT_S = 0.5
SAID_MOST = 6
NOT_ASKED = "That is not asked any more: look again at what the rig wants."
ENDS = {
    "done": "The steps are done. The sheet says what counts.",
    "failed": "A step failed. Mend the rig, then begin again: it goes on with that step.",
    "left": "Ended here. Begin again: it goes on with the step that was not done.",
}
GO_ON = "Begin again: it goes on with that step."
FAULT = "Ended by a fault of this program."
Kind = Literal["ready", "figure", "seen"]
Answer = bool | float | None


@dataclass(frozen=True)
class Question:
    """What is wanted of the person. An answer names `number`, so that one given twice counts once.

    `ready`: something is to be done; the answer is True. `figure`: a number of `unit`. `seen`:
    whether it is as it `must` be, True or False. None passes a figure or a look over.
    """

    number: int
    kind: Kind
    words: str
    unit: str = ""
    must: str = ""


@dataclass(frozen=True)
class Look:
    """Where it stands. `version` grows with each change.

    `step` is None before the first; `number` of `of` among those to do. `question` waits for its
    answer; None while the rig is at work. `act` is True when it is time to do, now, what the step
    says. `said` are the newest sentences of the step, `entry` the last one written down here.
    `ended` says how it ended, empty while it goes on.
    """

    version: int = 0
    name: str = ""
    step: Step | None = None
    number: int = 0
    of: int = 0
    question: Question | None = None
    act: bool = False
    said: tuple[str, ...] = ()
    entry: Entry | None = None
    ended: str = ""


class Proving:
    """Made with who signs and which steps (none named: all that are open); then `run` in a thread.

    Raises InputError for a name that cannot sign, a step that is not there, and when none is open.
    """

    def __init__(self, sheet: Sheet, name: str, only: tuple[str, ...] = ()) -> None:
        self.sheet, self._name = sheet, signed(name)
        self._keys = wanted_keys(only, sheet)
        if not self._keys:
            raise InputError("No step is open: the rig is proved.", "Name one to do it again.")
        self._moved = threading.Condition()
        self._look = Look(name=self._name, of=len(self._keys))
        self._given: list[Answer] = []
        self._is_ending = False
        self.idle: Callable[[], None] = lambda: None
        """Called while a person is waited for, at least twice a second; must not wait long."""

    def begin(self, opened: OpenPlace) -> threading.Thread:
        """Run in a thread of its own. Who ends the program ends it first, and joins."""
        thread = threading.Thread(target=self.run, args=(opened,), name="proving", daemon=True)
        thread.start()
        return thread

    def run(self, opened: OpenPlace) -> None:
        """Do the steps until all are done, one fails or is cut short, or somebody ends it.

        Raises nothing that a person can meet: `look` says it. Once in the life of a Proving.
        """
        watch = _Teller(self)
        try:
            with opened(_Elsewhere(self)) as place:
                ending = prove(self._keys, place, self.sheet, self._name, watch)
            if ending != "cut_short":
                self._change(ended=ENDS[ending])
        except _LeftError:
            self._change(ended=ENDS["left"])
        except SnapglossError as fault:
            self._change(ended=f"{fault} {GO_ON}")
        except Exception:  # whoever follows must be told; the text goes into the log
            logging.getLogger(__name__).exception("A commissioning")
            self._change(ended=f"{FAULT} {GO_ON}")
        finally:
            self._change(question=None, act=False)

    def look(self, after: int = -1, at_most_s: float = 0.0) -> Look:
        """Where it stands; waits up to `at_most_s` for a version newer than `after`."""
        with self._moved:
            self._moved.wait_for(lambda: self._look.version > after, at_most_s)
            return self._look

    @property
    def is_over(self) -> bool:
        """True once it has ended, however it did."""
        return bool(self._look.ended)

    def answer(self, number: int, given: Answer) -> None:
        """Answer the question of that number. Raises InputError for another, or what is none."""
        with self._moved:
            question = self._look.question
            if question is None or question.number != number:
                raise InputError(NOT_ASKED, "")
            _check(question, given)
            self._given.append(given)
            self._put(question=None)

    def end(self) -> None:
        """Let the rig go, off; the step under way is not done."""
        with self._moved:
            self._is_ending = True
            self._moved.notify_all()

    def ask(self, kind: Kind, words: str, unit: str = "", must: str = "") -> Answer:
        """For the thread that runs: wait for a person's answer."""
        with self._moved:
            number = self._look.version + 1
            self._put(question=Question(number, kind, words, unit, must))
        while True:
            with self._moved:
                self._moved.wait_for(lambda: self._given or self._is_ending, WAIT_S)
                self._refuse_ended()
                if self._given:
                    return self._given.pop()
            self.idle()

    def look_up(self) -> None:
        """For the thread that runs: go on, unless somebody ended it."""
        with self._moved:
            self._refuse_ended()

    def _refuse_ended(self) -> None:
        if self._is_ending:
            raise _LeftError

    def say(self, words: str) -> None:
        """For the thread that runs: one sentence more."""
        self._change(said=(*self._look.said, words)[-SAID_MOST:])

    def tell(self, **changes: object) -> None:
        """For the thread that runs: show this."""
        self._change(**changes)

    def _change(self, **changes: object) -> None:
        with self._moved:
            self._put(**changes)

    def _put(self, **changes: object) -> None:
        version = self._look.version + 1
        self._look = replace(self._look, version=version, **changes)  # type: ignore[arg-type]
        self._moved.notify_all()


class _LeftError(Exception):
    """Somebody ended it."""


def _check(question: Question, given: Answer) -> None:
    """Raises InputError for an answer that the question does not take."""
    if question.kind == "figure":
        is_number = isinstance(given, int | float) and not isinstance(given, bool)
        fits = given is None or (is_number and math.isfinite(given) and abs(given) < 1e9)
        remedy = f"Write a number of {question.unit}."
    elif question.kind == "seen":
        fits, remedy = given is None or isinstance(given, bool), "Say yes, no, or pass it over."
    else:
        fits, remedy = given is True, "Say when it is done."
    if not fits:
        raise InputError("That is no answer to what is asked.", remedy)


class _Elsewhere:
    """The person at the rig, before a page."""

    pulls_cable = True

    def __init__(self, proving: Proving) -> None:
        self._proving = proving
        self.say, self.look_up = proving.say, proving.look_up

    def begin(self, key: str) -> None:
        """The watch tells it."""

    def act(self, key: str) -> None:  # noqa: ARG002
        """Now."""
        self._proving.tell(act=True)

    def ready(self, words: str) -> None:
        """Wait until it is done."""
        self._proving.tell(act=False)
        self._proving.ask("ready", words.strip())

    def figure(self, words: str, unit: str) -> float | None:
        """A number, or passed over."""
        self._proving.tell(act=False)
        given = self._proving.ask("figure", words, unit)
        return None if given is None else float(given)

    def seen(self, words: str, must: str) -> bool | None:
        """Yes, no, or passed over."""
        given = self._proving.ask("seen", words, must=must)
        return None if given is None else bool(given)


class _Teller:
    """Shows how the steps go on."""

    def __init__(self, proving: Proving) -> None:
        self._proving = proving

    def begins(self, step: Step, number: int, of: int) -> None:
        """Show it, and nothing of the step before."""
        self._proving.look_up()
        self._proving.tell(step=step, number=number, of=of, said=(), act=False)

    def done(self, entry: Entry) -> None:
        """Show its result."""
        self._proving.tell(entry=entry, act=False)

    def cut_short(self, key: str, fault: SnapglossError) -> None:
        """Show why."""
        self._proving.tell(ended=f"{key} was cut short and is not done. {fault} {GO_ON}")
