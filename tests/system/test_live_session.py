"""The live session on a virtual rig: a batch is staged, left, joined again and turned off."""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from snapgloss.base.errors import InputError, LinkError, RigError
from snapgloss.link.client import RigLink
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.connect import connect
from snapgloss.runs.demo import demo_rig, demo_schedule
from snapgloss.runs.ending import RunResult
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import staged_of
from snapgloss.runs.sources import Sources
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.virtual.spawn import VirtualRigProcess

MASS_G, WITHIN_S = 700, 60.0


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty record."""
    with open_store(tmp_path) as store:
        yield store


@pytest.fixture
def virtual() -> Iterator[VirtualRigProcess]:
    """A simulated rig, fast enough for a test and slow enough to be caught in the middle."""
    with VirtualRigProcess(demo_rig(MASS_G, 21.0, 1, "400")) as rig:
        yield rig


def until(what: Callable[[], object], why: str) -> None:
    """Look until it is so."""
    deadline_s = time.monotonic() + WITHIN_S
    while not what():
        assert time.monotonic() < deadline_s, why
        time.sleep(0.01)


def begun(store: Store, folder: Path, port: str, ends: list[RunResult] | None = None) -> Session:
    """A session that has found its rig."""
    session = Session(store, folder, BENCH_RIG, lambda: port, (ends or []).append)
    session.start()
    until(lambda: session.feed.moment.is_there, "the rig was not found")
    return session


def test_a_batch_goes_on_over_a_new_start(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """The program ends in mid-batch and is started again: the same run, its whole curve, its
    moulds; nothing else is asked of the rig. Then off ends it, and the record says so."""
    session = begun(store, tmp_path, virtual.port)
    with pytest.raises(InputError):
        session.answer("pour")
    staged = staged_of(demo_schedule(MASS_G), BENCH_RIG, 21.0, moulds=16)
    session.stage(replace(staged, sources=Sources(("L-1",), (), "Bowl dry.")))
    moment = session.feed.moment
    until(lambda: session.feed.moment.state == "melting", f"it did not begin: {moment}")
    until(lambda: session.feed.moment.run, "no run was begun")
    assert [use.lot for use in store.uses()] == ["L-1"]  # from its beginning
    session.count(1)
    with pytest.raises(RigError, match="busy"):
        session.stage(staged_of(demo_schedule(MASS_G), BENCH_RIG, 21.0))
    until(lambda: session.feed.since("", 0).next > 200, "no points")
    session.stop()
    left_at_s = session.feed.moment.at_s

    ends: list[RunResult] = []
    again = Session(store, tmp_path, BENCH_RIG, lambda: virtual.port, ends.append)
    again.start()
    until(lambda: again.feed.moment.at_s > left_at_s, "it was not joined")
    until(lambda: not again.feed.moment.behind, "the gap was not filled")
    found = again.feed.moment
    assert (found.run, found.pouring.moulds, found.pouring.done) == (1, 16, 1)
    times = [point.at_s for point in again.feed.since("", 0).points]
    assert times[0] <= 1
    assert {round(b - a, 1) for a, b in pairwise(times)} == {1.0}
    assert again.off().startswith("Everything is off. It was:")
    until(lambda: ends, "the batch did not end")
    assert (ends[0].run_id, ends[0].outcome) == (1, "off")
    again.stop()
    assert [run.id for run in store.runs()] == [1]
    assert [note.words for note in store.notes(1)][:2] == ["Bowl dry.", "Pouring began."]
    assert [use.lot for use in store.uses()] == ["L-1"]


def test_an_open_run_of_yesterday_starts_nothing(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """A rig that is off, and a record that was never closed: it is closed, and no start is asked
    for."""
    session = begun(store, tmp_path, virtual.port)
    session.stage(staged_of(demo_schedule(MASS_G), BENCH_RIG, 21.0))
    until(lambda: session.feed.moment.run, "no run was begun")
    session.stop()
    with_link = connect(virtual.port)
    with_link.off()
    with_link.close()
    again = begun(store, tmp_path, virtual.port)
    until(lambda: store.run(1).ended_utc_ms is not None, "the run was not closed")
    until(lambda: "Run 1" in again.feed.moment.ended, "it was not told")
    assert again.feed.moment.state == "off"
    assert store.open_runs(store_board(again)) == []
    again.stop()


def store_board(session: Session) -> str:
    """The board of the session's rig."""
    assert session.link is not None and session.link.identity is not None
    return session.link.identity.board


def test_a_cable_that_comes_out_is_found_again(
    store: Store, tmp_path: Path, virtual: VirtualRigProcess
) -> None:
    """While it is out the page says so and off tells that it did not reach; then the same run goes
    on without a gap."""
    plugged = [True]
    links: list[RigLink] = []

    def open_link(port: str) -> RigLink:
        if not plugged[0]:
            raise LinkError("There is no port.", "Plug it in.")
        links.append(connect(port))
        return links[-1]

    session = Session(store, tmp_path, BENCH_RIG, lambda: virtual.port, open_link=open_link)
    session.start()
    until(lambda: session.feed.moment.is_there, "the rig was not found")
    session.stage(staged_of(demo_schedule(MASS_G), BENCH_RIG, 21.0))
    until(lambda: session.feed.since("", 0).next > 50, "no points")
    plugged[0] = False
    links[-1]._exchange._transport.close()
    until(lambda: not session.feed.moment.is_there, "it was not noticed")
    with pytest.raises(LinkError, match="nothing reached it"):
        session.off()
    assert "Looking for it" in session.feed.moment.trouble
    before = session.feed.moment.at_s
    plugged[0] = True
    until(lambda: session.feed.moment.is_there, "it was not found again")
    until(lambda: session.feed.moment.at_s > before + 100, "it does not go on")
    times = [point.at_s for point in session.feed.since("", 0).points]
    assert {round(b - a, 1) for a, b in pairwise(times)} == {1.0}
    session.off()
    session.stop()
    assert store.gaps(1) == []


def test_a_fault_of_ours_is_told_and_the_session_goes_on(store: Store, tmp_path: Path) -> None:
    """Once something breaks inside; the next look finds what is there."""
    ports = [ZeroDivisionError("inside"), ""]

    def find_port() -> str:
        found = ports.pop(0) if len(ports) > 1 else ports[0]
        if isinstance(found, Exception):
            raise found
        return found

    session = Session(store, tmp_path, BENCH_RIG, find_port)
    session.start()
    until(lambda: "fault of its own" in session.feed.moment.trouble, "it was not told")
    until(lambda: "No rig" in session.feed.moment.trouble, "it did not go on")
    session.stop()


def test_without_a_rig_the_page_says_what_to_do(store: Store, tmp_path: Path) -> None:
    """No port, or one that is not there."""
    for port, said in (
        ("", "No rig is plugged in."),
        ("/dev/no-rig", "There is no port /dev/no-rig."),
    ):
        session = Session(store, tmp_path, BENCH_RIG, lambda port=port: port)
        session.start()
        until(lambda s=session: s.feed.moment.trouble, "nothing was said")
        assert session.feed.moment.trouble.startswith(said)
        assert not session.feed.moment.is_there
        with pytest.raises(LinkError):
            session.stage(staged_of(demo_schedule(), BENCH_RIG, 21.0))
        session.stop()
