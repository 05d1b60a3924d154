"""Doing open steps in turn: what is told, what ends it, what goes on, a port that comes back."""

from pathlib import Path

import pytest
from tests.host.runs.test_commissioning import Bench

from snapgloss.base.errors import LinkError, SnapglossError
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock
from snapgloss.rigs.commissioning import Entry
from snapgloss.rigs.commissioning_steps import BEFORE, COLD, Step
from snapgloss.runs.commission_drive import StarvedError
from snapgloss.runs.commission_measures import MEASURES
from snapgloss.runs.commission_place import Place
from snapgloss.runs.commission_places import BACK_WITHIN_S, patiently
from snapgloss.runs.commissioning import Sheet, prove, wanted_keys


class Watch:
    """Keeps what it is told."""

    def __init__(self) -> None:
        self.told: list[tuple[str, str]] = []

    def begins(self, step: Step, number: int, of: int) -> None:
        self.told.append((f"{number} of {of}", step.key))

    def done(self, entry: Entry) -> None:
        self.told.append((entry.result, entry.key))

    def cut_short(self, key: str, fault: SnapglossError) -> None:
        self.told.append((str(fault), key))


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A scripted rig and an empty sheet."""
    return Bench(tmp_path)


def test_steps_are_done_in_turn_each_group_made_ready_once(bench: Bench) -> None:
    """Their places, their results; the person hears before a group what to make ready."""
    watch, bench.hands.figure_is = Watch(), 0.5
    keys = ("loop_closed", "loop_opens")
    assert prove(keys, bench.place, bench.sheet, "Maar", watch) == "done"
    assert watch.told == [
        ("1 of 2", "loop_closed"), ("passed", "loop_closed"),
        ("2 of 2", "loop_opens"), ("passed", "loop_opens"),
    ]  # fmt: skip
    assert bench.hands.said.count(f"{COLD}. {BEFORE[COLD]}") == 1


def test_a_failed_step_ends_it(bench: Bench) -> None:
    """What stands after it is not asked for."""
    watch, bench.hands.figure_is = Watch(), 47.0
    assert prove(("loop_closed", "fuses"), bench.place, bench.sheet, "Maar", watch) == "failed"
    assert [one.key for one in bench.sheet.entries()] == ["loop_closed"]


def test_a_step_cut_short_ends_it_and_is_the_first_of_the_next(
    bench: Bench, tmp_path: Path
) -> None:
    """The cable out in the second of three: the first stays, a new program goes on with it."""
    watch = Watch()
    bench.rig.then["hello"] = bench.rig.unplug
    keys = ("fuses", "ice_point", "cut_out_fitted")
    assert prove(keys, bench.place, bench.sheet, "Maar", watch) == "cut_short"
    assert watch.told[-1][1] == "ice_point"
    later = Sheet(tmp_path, bench.sheet.rig, lambda: bench.now_utc_ms)
    assert [one.key for one in later.entries()] == ["fuses"]
    assert [key for key in wanted_keys((), later) if key in keys] == list(keys[1:])


@pytest.mark.parametrize(("slow", "ending"), [(2, "done"), (3, "cut_short")])
def test_a_computer_that_was_too_slow_does_the_step_again(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, slow: int, ending: str
) -> None:
    """Twice at once; the third time it is cut short, and nothing is written."""
    tries: list[int] = []

    def measured(_place: Place) -> float:
        tries.append(1)
        if len(tries) <= slow:
            raise StarvedError("Too slow.", "Close other programs.")
        return 5.0

    monkeypatch.setitem(MEASURES, "host_silent", measured)
    assert prove(("host_silent",), bench.place, bench.sheet, "Maar", Watch()) == ending
    assert len(bench.sheet.entries()) == int(ending == "done")
    assert bench.hands.said.count("Too slow. Once more.") == 2


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
