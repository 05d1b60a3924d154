"""Rigs by name and board: kept, found on whatever port, never mistaken for one another."""

import string
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.host.runs.test_seek import PICO, Ports

from snapgloss.base.errors import InputError, LinkError
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.known_rigs import KnownRig, add_rig, drop_rig, keys_of, known_rigs, rig_named
from snapgloss.runs.live.kept import read_kept
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import staged_of
from snapgloss.runs.rig_ports import RigPorts, port_of
from snapgloss.store.store import Store

OVEN = BENCH_RIG.model_copy(update={"name": "Oven side"})
DOOR = BENCH_RIG.model_copy(update={"name": "By the door", "heater_w": 60})


@pytest.fixture
def ports() -> Iterator[Ports]:
    """No port yet; every link is closed at the end."""
    ports = Ports()
    yield ports
    for _, link in ports.opened:
        link.close()


def known(*boards: str) -> list[KnownRig]:
    """Rigs with these boards, on ports of one kind."""
    return [KnownRig(f"rig {board}", board, "", PICO, "") for board in boards]


def test_rigs_are_kept_in_their_order(tmp_path: Path) -> None:
    """With board and description; added again, the newest counts; dropped, it is gone."""
    add_rig(tmp_path, OVEN, "b1", "A", PICO)
    add_rig(tmp_path, DOOR, "b2", "A", PICO)
    assert [(one.name, one.board) for one in known_rigs(tmp_path)] == [
        ("Oven side", "b1"), ("By the door", "b2"),
    ]  # fmt: skip
    assert rig_named(tmp_path, "by THE door ").rig == DOOR
    add_rig(tmp_path, OVEN, "b9", "A", PICO)  # another board in the same rig
    assert rig_named(tmp_path, "Oven side").board == "b9"
    assert drop_rig(tmp_path, "Oven side") == '"Oven side" is forgotten; its batches stay.'
    assert [one.name for one in known_rigs(tmp_path)] == ["By the door"]


def test_a_board_has_one_name(tmp_path: Path) -> None:
    """Under a second one it would be two rigs on the page, and both would command it."""
    add_rig(tmp_path, OVEN, "b1", "A", PICO)
    with pytest.raises(InputError, match='is the rig "Oven side" already'):
        add_rig(tmp_path, DOOR, "b1", "A", PICO)
    assert len(known_rigs(tmp_path)) == 1


def test_a_name_that_is_not_known_says_which_are(tmp_path: Path) -> None:
    """And how to add one."""
    with pytest.raises(InputError, match="known: none yet"):
        rig_named(tmp_path, "attic")
    add_rig(tmp_path, OVEN, "b1", "A", PICO)
    with pytest.raises(InputError, match='known: "Oven side"'):
        drop_rig(tmp_path, "attic")


@given(st.lists(st.text(max_size=12), max_size=8))
def test_keys_fit_into_an_address_and_differ(names: list[str]) -> None:
    """Whatever a rig is called."""
    keys = keys_of(names)
    assert len(set(keys)) == len(names)
    assert all(set(key) <= {*string.ascii_lowercase, *string.digits, "-"} and key for key in keys)


def test_each_board_is_found_by_what_it_says(ports: Ports) -> None:
    """On ports in any order, each asked once while it is not used; others' are left alone."""
    ports.listed = {"A": PICO, "B": PICO, "PRINTER": "1a86:7523"}
    ports.there = {"A": "b2", "B": "b1", "PRINTER": "b3"}
    found = RigPorts(known("b1", "b2", "b3"), ports.open, ports.list)
    assert [found.find(board) for board in ("b1", "b2", "b3")] == ["B", "A", ""]
    assert ports.tries == ["A", "B"]


def test_a_port_in_use_is_not_asked(ports: Ports) -> None:
    """The session that has it would lose a hello to another."""
    ports.listed, ports.there = {"A": PICO}, {"A": "b1"}
    found = RigPorts(known("b1", "b2"), ports.open, ports.list)
    assert found.find("b1") == "A"
    assert [found.find("b2") for _ in range(3)] == [""] * 3
    assert ports.tries == ["A"]


def test_rigs_that_change_places_are_found_again(ports: Ports) -> None:
    """Asked again, the last answer counts for nothing: who is there is asked anew."""
    ports.listed, ports.there = {"A": PICO, "B": PICO}, {"A": "b1", "B": "b2"}
    found = RigPorts(known("b1", "b2"), ports.open, ports.list)
    assert (found.find("b1"), found.find("b2")) == ("A", "B")
    ports.there = {"A": "b2", "B": "b1"}
    assert found.find("b1") == ""  # B is still taken for the other's
    assert found.find("b2") == "A"
    assert found.find("b1") == "B"


def test_a_port_that_is_slow_is_asked_again(ports: Ports) -> None:
    """No answer is no knowledge; a port that vanished is forgotten."""
    ports.listed, ports.there = {"A": PICO}, {}
    found = RigPorts(known("b1"), ports.open, ports.list)
    assert found.find("b1") == ""
    ports.there = {"A": "b1"}
    assert found.find("b1") == "A"
    ports.listed = {}
    assert found.find("b1") == ""


def test_a_port_that_no_system_lists_is_asked(ports: Ports) -> None:
    """An address in the network, or a simulated rig: where it was when it was added, and nowhere
    else, for nothing is known of how its port looks."""
    ports.listed, ports.there = {"A": PICO}, {"socket://oven:5000": "b1", "A": "b1"}
    rigs = [KnownRig("oven", "b1", "socket://oven:5000", "", "")]
    assert RigPorts(rigs, ports.open, ports.list).find("b1") == "socket://oven:5000"
    assert ports.tries == ["socket://oven:5000"]


def test_the_port_of_one_rig(ports: Ports) -> None:
    """Its name, or a sentence."""
    (rig,) = known("b1")
    with pytest.raises(InputError, match='The rig "rig b1" is not plugged in'):
        port_of(rig, RigPorts([rig], ports.open, ports.list))
    ports.listed, ports.there = {"A": PICO}, {"A": "b1"}
    assert port_of(rig, RigPorts([rig], ports.open, ports.list)) == "A"


def test_a_session_attends_to_no_other_rig(tmp_path: Path, store: Store, ports: Ports) -> None:
    """The wrong board at the right port: said, let go, and never within reach of a command."""
    ports.there = {"A": "stranger"}
    session = Session(store, tmp_path, BENCH_RIG, lambda: "A", open_link=ports.open, board="b1")
    with pytest.raises(LinkError, match="Another rig is on that port now: stranger, not b1"):
        session._attend("A")
    assert session.link is None
    assert [rig.is_closed for rig in ports.rigs] == [True]


def test_what_is_kept_of_each_rig_lies_apart(tmp_path: Path, store: Store) -> None:
    """Two sessions of one folder do not write over each other's batch that was sent."""
    sessions = []
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        session = Session(store, tmp_path, BENCH_RIG, lambda: "", place=tmp_path / name)
        session._keep(staged_of(demo_schedule(700), BENCH_RIG, 21.0, moulds=len(sessions) + 1))
        sessions.append(session)
    assert [read_kept(tmp_path / name).moulds for name in ("a", "b")] == [1, 2]
