"""A commissioning step by step as a page does it: on a simulated rig of its own, and on the live
session's rig."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from snapgloss.base.errors import RigError
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.runs.commission_places import on_a_virtual_rig, simulated
from snapgloss.runs.commissioning import Sheet
from snapgloss.runs.demo import demo_rig, demo_schedule
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import staged_of
from snapgloss.runs.proving import Answer, Proving
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.virtual.spawn import VirtualRigProcess

WITHIN_S = 60.0
FIGURES: dict[str, Answer] = {"kΩ": 10.0, "°C": 37.0, "A": 0.6, "Ω": 0.2}


def sheet_in(folder: Path, rig: RigDescription = BENCH_RIG) -> Sheet:
    """A record with the computer's clock."""
    return Sheet(folder, rig, lambda: time.time_ns() // 1_000_000)


def answer_all(proving: Proving) -> list[str]:
    """Answer every question as it should be until it has ended; what was asked, by kind."""
    asked: list[str] = []
    look = proving.look()
    while not look.ended:
        if look.question is not None:
            question = look.question
            asked.append(question.kind)
            given = FIGURES[question.unit] if question.kind == "figure" else True
            proving.answer(question.number, given)
        newer = proving.look(look.version, WITHIN_S)
        assert newer.version > look.version, f"nothing more comes: {look}"
        look = newer
    return asked


def test_a_page_proves_a_simulated_rig_of_its_own(tmp_path: Path) -> None:
    """Six steps by answers alone, hands simulated: each measured by the firmware, or asked for."""
    sheet = sheet_in(tmp_path, simulated(BENCH_RIG, is_described=False))
    keys = ("fuses", "stop_in_test", "node_sense", "stirrer_held", "warm_bath", "outside")
    proving = Proving(sheet, "Maar", keys)
    thread = proving.begin(on_a_virtual_rig(sheet.rig))
    asked = answer_all(proving)
    thread.join(WITHIN_S)
    assert not thread.is_alive()
    found = {one.key: one for one in sheet.entries()}
    assert list(found) == list(keys), proving.look()
    assert {one.result for one in found.values()} == {"passed"}
    assert found["node_sense"].value == 12
    assert all(one.simulated for one in found.values())
    assert asked.count("seen") == 1
    assert asked.count("figure") == 3  # the motor's current, the thermometer, the outside


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty record."""
    with open_store(tmp_path) as store:
        yield store


@pytest.fixture
def virtual() -> Iterator[VirtualRigProcess]:
    """A simulated rig on a port, as a real one: only its start press is simulated."""
    with VirtualRigProcess(demo_rig(700, 21.0, 1, "60")) as rig:
        yield rig


def test_the_live_sessions_rig_is_proved_and_then_tempers_again(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """It has the session's link; meanwhile readings are told and nothing else may begin; ended,
    the session goes on as before."""
    session = Session(store, tmp_path, BENCH_RIG, lambda: virtual.port)
    session.start()
    try:
        _until(lambda: session.feed.moment.product_mc is not None)
        proving = Proving(sheet_in(tmp_path), "Maar", ("fuses", "host_silent"))
        session.prove(proving)
        look = proving.look(0, WITHIN_S)
        assert look.question is not None
        _refused_meanwhile(session)
        told: list[int | None] = []
        forget = session.feed.listen(lambda: told.append(session.feed.moment.product_mc))
        _until(lambda: len(told) > 2)  # while the person is waited for
        forget()
        assert None not in told
        answer_all(proving)
        assert [one.result for one in sheet_in(tmp_path).entries()] == ["passed", "passed"]
        _until(lambda: session.feed.moment.state == "off" and session.feed.moment.now)
        assert session.stage(staged_of(demo_schedule(700), BENCH_RIG, 21.0))
        _until(lambda: session.feed.moment.state == "melting")
        session.off()
    finally:
        session.stop()


def test_beside_a_simulated_rig_one_of_its_own_is_proved(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """As the page of `serve --virtual` begins it: a sheet of its own, and one at a time; ended
    with the program."""
    session = Session(store, tmp_path, BENCH_RIG, lambda: virtual.port)
    session.start()
    _until(lambda: session.feed.moment.product_mc is not None)
    proving = session.begin_proving("Maar", ("fuses", "warm_bath"))
    assert session.sheet().rig.name == f"{BENCH_RIG.name}, simulated"
    with pytest.raises(RigError, match="commissioning goes on"):
        session.begin_proving("Quillby")
    answer_all(proving)
    assert [one.key for one in session.sheet().entries()] == ["fuses", "warm_bath"]
    again = session.begin_proving("Quillby")
    assert again.look().of == len(session.sheet().states()) - 2
    session.stop()
    assert again.look().ended.startswith("Ended here")


def test_a_program_that_ends_lets_the_rig_go(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """Session over in mid-step: the commissioning has ended, nothing is written."""
    session = Session(store, tmp_path, BENCH_RIG, lambda: virtual.port)
    session.start()
    _until(lambda: session.feed.moment.product_mc is not None)
    proving = Proving(sheet_in(tmp_path), "Maar", ("fuses",))
    session.prove(proving)
    assert proving.look(0, WITHIN_S).question is not None
    session.stop()
    assert proving.look().ended.startswith("Ended here")
    assert sheet_in(tmp_path).entries() == []


def _refused_meanwhile(session: Session) -> None:
    with pytest.raises(RigError, match="commissioning goes on"):
        session.stage(staged_of(demo_schedule(700), BENCH_RIG, 21.0))
    with pytest.raises(RigError, match="commissioning goes on"):
        session.prove(Proving(sheet_in(session.folder), "Quillby", ("fuses",)))


def _until(is_so: Callable[[], object]) -> None:
    deadline_s = time.monotonic() + WITHIN_S
    while not is_so():
        assert time.monotonic() < deadline_s
        time.sleep(0.01)
