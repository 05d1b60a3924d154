"""A commissioning that others follow: questions, answers, what is shown, how it is ended."""

import contextlib
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.host.runs.test_commissioning import Bench

from snapgloss.base.errors import InputError, LinkError
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock
from snapgloss.runs.commission_drive import StarvedError
from snapgloss.runs.commission_measures import MEASURES
from snapgloss.runs.commission_place import Hands as Person
from snapgloss.runs.commission_place import Place
from snapgloss.runs.commission_places import BACK_WITHIN_S, patiently
from snapgloss.runs.commissioning import Sheet
from snapgloss.runs.proving import Answer, Kind, Look, Proving

WITHIN_S = 10.0


class Begun:
    """A commissioning in a thread of its own, on a scripted rig."""

    def __init__(self, bench: Bench, *only: str) -> None:
        self.bench = bench
        self.proving = Proving(bench.sheet, "Maar", only)
        self.thread = self.proving.begin(self.opened)

    @contextlib.contextmanager
    def opened(self, hands: Person) -> Iterator[Place]:
        self.bench.place.hands = hands
        yield self.bench.place

    def until(self, is_so: Callable[[Look], object]) -> Look:
        """The first look of which that is so."""
        look = self.proving.look()
        while not is_so(look):
            newer = self.proving.look(look.version, WITHIN_S)
            assert newer.version > look.version, f"nothing more comes: {look}"
            look = newer
        return look

    def asked(self, kind: Kind) -> int:
        """The number of the next question, which must be of that kind."""
        look = self.until(lambda look: look.question or look.ended)
        assert look.question is not None and look.question.kind == kind, look
        return look.question.number

    def give(self, kind: Kind, given: Answer) -> None:
        """Answer the next question."""
        self.proving.answer(self.asked(kind), given)

    def over(self) -> Look:
        """How it ended; its thread too."""
        look = self.until(lambda look: look.ended)
        self.thread.join(WITHIN_S)
        assert not self.thread.is_alive()
        return look


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A scripted rig and an empty sheet."""
    return Bench(tmp_path)


def test_step_by_step_from_the_first_instruction_to_the_record(bench: Bench) -> None:
    """Make ready, a figure, a look: each asked in turn, written down signed, and shown."""
    begun = Begun(bench, "pull_downs", "fuses")
    look = begun.until(lambda look: look.question)
    assert look.step is not None and (look.step.key, look.number, look.of) == ("pull_downs", 1, 2)
    assert look.question is not None and "24 V plug out" in look.question.words
    begun.give("ready", True)
    begun.give("figure", 10.1)
    look = begun.until(lambda look: look.number == 2 and look.question)
    assert look.entry is not None and (look.entry.key, look.entry.value) == ("pull_downs", 10.1)
    assert look.question is not None and look.question.must == "as in the table of parts"
    begun.give("seen", True)
    assert begun.over().ended.startswith("The steps are done")
    rows = [(one.key, one.result, one.name) for one in bench.sheet.entries()]
    assert rows == [("pull_downs", "passed", "Maar"), ("fuses", "passed", "Maar")]


def test_a_failed_step_ends_it_and_none_passes_over(bench: Bench) -> None:
    """Passed over is written and goes on; out of bounds is written and ends it."""
    begun = Begun(bench, "pull_downs", "loop_closed", "fuses")
    begun.give("ready", True)
    begun.give("figure", None)
    begun.give("figure", 47)
    assert begun.over().ended.startswith("A step failed")
    results = [(one.key, one.result) for one in bench.sheet.entries()]
    assert results == [("pull_downs", "skipped"), ("loop_closed", "failed")]


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        ("figure", float("nan")), ("figure", 1e9), ("figure", True), ("figure", "ten"),
        ("seen", 1.0), ("seen", "yes"), ("ready", None), ("ready", False),
    ],
)  # fmt: skip
def test_what_is_no_answer_is_refused_and_asked_on(
    bench: Bench, kind: Kind, given: Answer
) -> None:
    """Not a number, too large, another kind: InputError; the question still waits."""
    begun = Begun(bench, "pull_downs" if kind != "seen" else "fuses")
    if kind != "ready":
        begun.give("ready", True)
    number = begun.asked(kind)
    with pytest.raises(InputError, match="no answer to what is asked"):
        begun.proving.answer(number, given)
    assert begun.asked(kind) == number
    begun.proving.end()
    begun.over()


def test_an_answer_given_twice_counts_once(bench: Bench) -> None:
    """Two pages, one question: the second is told; the next question is not answered by it."""
    begun = Begun(bench, "pull_downs", "loop_closed")
    begun.give("ready", True)
    number = begun.asked("figure")
    begun.proving.answer(number, 10.0)
    with pytest.raises(InputError, match="not asked any more"):
        begun.proving.answer(number, 10.0)
    assert begun.asked("figure") != number
    begun.proving.end()
    begun.over()
    assert [one.key for one in bench.sheet.entries()] == ["pull_downs"]


def test_ended_in_a_step_leaves_no_entry_and_the_next_goes_on_with_it(bench: Bench) -> None:
    """Passed steps stay; the one under way is the first of the next session."""
    begun = Begun(bench, "pull_downs", "loop_closed")
    begun.give("ready", True)
    begun.give("figure", 10.0)
    begun.asked("figure")
    begun.proving.end()
    assert begun.over().ended.startswith("Ended here")
    again = Begun(bench)
    look = again.until(lambda look: look.step)
    assert look.step is not None and look.step.key == "loop_closed"
    again.proving.end()
    again.over()
    assert [one.key for one in bench.sheet.entries()] == ["pull_downs"]


def test_a_program_killed_in_a_step_loses_that_step_alone(bench: Bench, tmp_path: Path) -> None:
    """Power gone: what was written is on the disk; a new program with a new sheet goes on."""
    begun = Begun(bench, "pull_downs", "loop_closed")
    begun.give("ready", True)
    begun.give("figure", 10.0)
    begun.asked("figure")  # and here the light goes out
    later = Sheet(tmp_path, bench.sheet.rig, lambda: bench.now_utc_ms)
    assert [one.key for one in later.entries()] == ["pull_downs"]
    assert Proving(later, "Maar").look().of == len(later.states()) - 1
    begun.proving.end()
    begun.over()


@pytest.mark.parametrize(("slow", "entries"), [(2, 1), (3, 0)])
def test_a_computer_that_was_too_slow_does_the_step_again(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, slow: int, entries: int
) -> None:
    """Twice at once; the third time it is cut short, and nothing is written."""
    tries: list[int] = []

    def measured(_place: Place) -> float:
        tries.append(1)
        if len(tries) <= slow:
            raise StarvedError("Too slow.", "Close other programs.")
        return 5.0

    monkeypatch.setitem(MEASURES, "host_silent", measured)
    begun = Begun(bench, "host_silent")
    begun.give("ready", True)
    look = begun.over()
    assert len(bench.sheet.entries()) == entries
    assert look.said.count("Too slow. Once more.") == 2
    assert ("cut short" in look.ended) == (entries == 0)


def test_a_rig_that_goes_away_is_said_and_nothing_is_written(bench: Bench) -> None:
    """The cable's error in words, with how to go on; no entry."""
    bench.rig.then["hello"] = bench.rig.unplug
    begun = Begun(bench, "ice_point")
    begun.give("ready", True)
    begun.give("ready", True)
    ended = begun.over().ended
    assert ended.startswith("ice_point was cut short and is not done.")
    assert ended.endswith("Begin again: it goes on with that step.")
    assert bench.sheet.entries() == []


def test_a_rig_that_is_not_there_is_said(bench: Bench) -> None:
    """The place cannot be opened: the look says why, its thread ends."""

    @contextlib.contextmanager
    def nowhere(_hands: Person) -> Iterator[Place]:
        raise LinkError("No rig answers.", "Plug it in.")
        yield

    proving = Proving(bench.sheet, "Maar", ("fuses",))
    proving.begin(nowhere).join(WITHIN_S)
    assert (
        proving.look().ended
        == "No rig answers. Plug it in. Begin again: it goes on with that step."
    )


def test_nobody_begins_without_a_name_or_an_open_step(bench: Bench) -> None:
    """No name, no such step: before a rig is opened."""
    with pytest.raises(InputError, match="needs a name"):
        Proving(bench.sheet, " ")
    with pytest.raises(InputError, match="No step is called"):
        Proving(bench.sheet, "Maar", ("dance",))


def test_a_fault_of_ours_ends_it_in_words_and_lets_the_rig_go(bench: Bench) -> None:
    """Whatever goes wrong inside: a page is told that it ended, never left waiting."""
    begun = Begun(bench, "fuses")
    begun.asked("ready")
    bench.sheet.write = None  # type: ignore[method-assign, assignment]
    begun.give("ready", True)
    begun.give("seen", True)
    assert "fault of this program" in begun.over().ended


def test_while_a_person_is_waited_for_the_rig_is_listened_to(bench: Bench) -> None:
    """A page goes on to show readings: `idle` is called again and again."""
    called = threading.Event()
    begun = Begun(bench, "fuses")
    begun.proving.idle = called.set
    begun.asked("ready")
    assert called.wait(WITHIN_S)
    begun.proving.end()
    begun.over()


def test_a_port_that_is_not_back_at_once_is_tried_for_10_s(bench: Bench) -> None:
    """Three refusals, then the link; one that stays away is refused after 10 s."""
    tries: list[float] = []
    clock = ScriptedClock(bench.rig)

    def open_link() -> RigLink:
        tries.append(clock.now_s())
        if len(tries) < 4:
            raise LinkError("No such port.", "")
        return bench.place.link

    assert patiently(open_link, clock)() is bench.place.link
    assert tries == [0.0, 0.5, 1.0, 1.5]

    def never() -> RigLink:
        raise LinkError("No such port.", "")

    began_s = clock.now_s()
    with pytest.raises(LinkError, match="No such port"):
        patiently(never, clock)()
    assert clock.now_s() - began_s == BACK_WITHIN_S
