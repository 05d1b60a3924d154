"""Commissioning from a page: its questions, its answers, and how it ends."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from rigwire.states import STATES
from snapgloss.base.errors import InputError, LinkError, RigError
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs import commissioning, words
from snapgloss.runs.commission_place import Place
from snapgloss.runs.commissioning import Sheet
from snapgloss.runs.connect import introduce
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.proving import Proving, Question
from snapgloss.runs.watch import Leave

WITHIN_S = 20


class Kitchen:
    """A scripted rig, its sheet, and steps that are done in a thread of their own."""

    def __init__(self, data: Path) -> None:
        self.rig, self.feed = ScriptedRig(), Feed()
        self.link = introduce(self.rig, ScriptedClock(self.rig))
        self.sheet = Sheet(data, BENCH_RIG, lambda: 1_800_000_000_000)
        self.fault: BaseException | None = None
        self.is_ending = False
        self.proving: Proving
        self._thread: threading.Thread

    def begin(self, *keys: str) -> None:
        """Begin these steps."""
        self.proving = Proving(self.sheet, keys, "Ada", lambda: self.is_ending)
        place = Place(self.link, self.proving, BENCH_RIG, lambda: self.link, 5000.0)

        def run() -> None:
            try:
                self.proving.run(place, self.feed)
            except BaseException as fault:
                self.fault = fault

        self._thread = threading.Thread(target=run, daemon=True)
        self._thread.start()

    def asked(self, asks: str) -> Question:
        """Wait for a question of that kind."""
        self.until(lambda: self.proving.question.asks == asks)
        return self.proving.question

    def until(self, is_so: Callable[[], bool]) -> None:
        """Wait until something is so."""
        tick = threading.Event()
        for _ in range(WITHIN_S * 100):
            if is_so():
                return
            tick.wait(0.01)
        raise AssertionError(self.proving.question)

    def answer(self, asks: str, given: object) -> None:
        """Answer the next question, which is of that kind."""
        self.proving.answer(self.asked(asks).number, given)  # type: ignore[arg-type]

    def end(self) -> None:
        """Wait for the end of the steps."""
        self._thread.join(WITHIN_S)
        assert not self._thread.is_alive()
        assert not self.proving.question.is_on


@pytest.fixture
def kitchen(tmp_path: Path) -> Kitchen:
    """A rig, and nothing proved yet."""
    return Kitchen(tmp_path)


def results(kitchen: Kitchen) -> list[tuple[str, str, float | None, str]]:
    """What the sheet says."""
    return [(one.key, one.result, one.value, one.name) for one in kitchen.sheet.entries()]


def test_steps_are_asked_answered_and_written(kitchen: Kitchen) -> None:
    """The group is made ready once; a figure, a look and one that is passed over, each signed."""
    kitchen.begin("pull_downs", "no_short", "loop_opens")
    assert "The board comes out of its socket." in kitchen.asked("ready").ask_words
    kitchen.answer("ready", "done")
    asked = kitchen.asked("figure")
    assert (asked.step_no, asked.steps, asked.key, asked.unit) == (1, 3, "pull_downs", "kΩ")
    kitchen.answer("figure", 9.9)
    kitchen.answer("figure", "skip")
    kitchen.answer("seen", "yes")
    kitchen.end()
    assert results(kitchen) == [
        ("pull_downs", "passed", 9.9, "Ada"), ("no_short", "skipped", None, "Ada"),
        ("loop_opens", "passed", 1.0, "Ada"),
    ]  # fmt: skip
    assert any(line.startswith("pull_downs: passed") for line in kitchen.proving.question.said)


def test_a_step_that_failed_ends_it(kitchen: Kitchen) -> None:
    """What failed is mended before anything else is looked at."""
    kitchen.begin("loop_opens", "fuses")
    kitchen.answer("ready", "done")
    kitchen.answer("seen", "no")
    kitchen.end()
    assert results(kitchen) == [("loop_opens", "failed", 0.0, "Ada")]


def test_what_does_not_answer_is_refused(kitchen: Kitchen) -> None:
    """A word for a figure, a figure for a look, and a second touch that meant the question
    before: nothing is written."""
    kitchen.begin("pull_downs", "loop_opens")
    number = kitchen.asked("ready").number
    for wrong in ("yes", 3.0, "skip"):
        with pytest.raises(InputError, match=words.NO_ANSWER_TO_IT):
            kitchen.proving.answer(number, wrong)  # type: ignore[arg-type]
    kitchen.answer("ready", "done")
    later = kitchen.asked("figure").number
    assert later != number
    with pytest.raises(InputError, match=words.NOT_ASKED):
        kitchen.proving.answer(number, "done")
    for wrong in ("done", "yes", float("inf"), float("nan"), 1e10):
        with pytest.raises(InputError, match=words.NO_ANSWER_TO_IT):
            kitchen.proving.answer(later, wrong)  # type: ignore[arg-type]
    assert results(kitchen) == []
    kitchen.proving.leave()
    kitchen.end()


def test_leaving_turns_off_and_keeps_what_is_done(kitchen: Kitchen) -> None:
    """The step that was asked for leaves no entry."""
    kitchen.begin("pull_downs", "loop_opens")
    kitchen.answer("ready", "done")
    kitchen.answer("figure", 10.0)
    kitchen.asked("seen")
    kitchen.proving.leave()
    kitchen.end()
    assert [row[0] for row in results(kitchen)] == ["pull_downs"]
    assert [message.name for message in kitchen.rig.done].count("off") == 1
    assert kitchen.fault is None


def test_the_program_ends_in_a_question(kitchen: Kitchen) -> None:
    """Told as to a batch."""
    kitchen.begin("pull_downs")
    kitchen.asked("ready")
    kitchen.is_ending = True
    kitchen.end()
    assert isinstance(kitchen.fault, Leave)
    assert results(kitchen) == []


@pytest.mark.parametrize("fault", [RigError("no", ""), LinkError("no", ""), InputError("no", "")])
def test_a_step_cut_short_leaves_no_entry_and_ends_it(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    """It is said, and it is still open: the next beginning is with it. Nobody is asked for the
    step after it with a cable out."""
    real = commissioning.do_step

    def cut(key: str, *given: object) -> object:
        if key == "pull_downs":
            raise fault
        return real(key, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(commissioning, "do_step", cut)
    kitchen.begin("pull_downs", "loop_opens")
    kitchen.answer("ready", "done")
    kitchen.end()
    assert results(kitchen) == []
    question = kitchen.proving.question
    assert "pull_downs was cut short" in question.said[0] and not question.is_on


def test_what_the_rig_reads_is_shown_while_it_asks(kitchen: Kitchen) -> None:
    """So that a page says nothing old."""
    kitchen.begin("pull_downs")
    kitchen.asked("ready")
    off = STATES.index("off")
    kitchen.rig.push_reading((1000, off, 0, -300000, 21_500, 0, 21_000, 0, 0, 0, 0))
    kitchen.until(lambda: kitchen.feed.moment.product_mc == 21_500)
    assert kitchen.feed.moment.now == words.PROVING
    kitchen.proving.leave()
    kitchen.end()
