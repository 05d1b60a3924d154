"""Finding a rig again: by its board, on any port that looks the same, with words and back-off."""

import threading
from collections.abc import Callable, Iterator

import pytest

from snapgloss.base.errors import LinkError
from snapgloss.link.client import RigLink
from snapgloss.link.ports import PortRow
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs.connect import introduce
from snapgloss.runs.seek import MOST_WAIT_S, Seeker

PICO = "2e8a:0005"
GONE = LinkError("There is no port A.", "Plug the rig in.")


class Ports:
    """What is plugged in where: a board's id, or the error of opening it."""

    def __init__(self) -> None:
        self.there: dict[str, str | LinkError] = {}
        self.listed: dict[str, str] = {}
        self.opened: list[tuple[str, RigLink]] = []
        self.tries: list[str] = []
        self.rigs: list[ScriptedRig] = []

    def open(self, port: str) -> RigLink:
        """Open it, or fail as scripted."""
        self.tries.append(port)
        found = self.there.get(port, GONE)
        if isinstance(found, LinkError):
            raise found
        rig = ScriptedRig()
        rig.board = found
        self.rigs.append(rig)
        link = introduce(rig, ScriptedClock(rig))
        self.opened.append((port, link))
        return link

    def list(self) -> list[PortRow]:
        """What the system lists."""
        return [PortRow(port, "USB serial", usb_id) for port, usb_id in self.listed.items()]


class Clock:
    """Time passes only when somebody waits; `then` happens at the first moment after a wait."""

    def __init__(self) -> None:
        self.at_s, self.waits = 0.0, list[float]()
        self.then: Callable[[], None] = lambda: None

    def now_s(self) -> float:
        """Seconds waited."""
        return self.at_s

    def wait(self, ready: threading.Event, at_most_s: float) -> bool:
        """Let it pass."""
        self.at_s += at_most_s
        self.waits.append(at_most_s)
        self.then()
        return False


@pytest.fixture
def ports() -> Iterator[Ports]:
    """No port yet; every link is closed at the end."""
    ports = Ports()
    yield ports
    for _, link in ports.opened:
        link.close()


def seeker(ports: Ports, clock: Clock, at_most_s: int = 60) -> Seeker:
    """One that was at port A."""
    return Seeker("A", at_most_s, ports.open, ports.list, clock)


def test_the_same_port_again(ports: Ports) -> None:
    """Plugged in again after some tries: found on the old port, and why it took long said once."""
    clock, said = Clock(), list[str]()

    def plug_in() -> None:
        if len(clock.waits) == 3:
            ports.there["A"] = "b1"

    clock.then = plug_in
    link = seeker(ports, clock)("b1", said.append)
    assert link.identity is not None and link.identity.board == "b1"
    assert said == [str(GONE)]
    assert clock.waits == [0.5, 1.0, 2.0]


def test_the_board_under_another_name(ports: Ports) -> None:
    """Re-enumerated as B: found there; a port of another kind of device is never opened."""
    ports.listed = {"A": PICO}
    found = seeker(ports, Clock())
    ports.listed = {"B": PICO, "PRINTER": "1a86:7523"}
    ports.there = {"B": "b1", "PRINTER": "b1"}
    link = found("b1", lambda _: None)
    assert [port for port, one in ports.opened if one is link] == ["B"]
    assert "PRINTER" not in ports.tries


def test_another_rig_is_named_and_let_go(ports: Ports) -> None:
    """The wrong board on the right port: a sentence, its link closed, and the search goes on."""
    clock, said = Clock(), list[str]()
    ports.there["A"] = "stranger"
    clock.then = lambda: ports.there.update(A="b1")
    link = seeker(ports, clock)("b1", said.append)
    assert said == [
        "A: Another rig is on that port now: stranger, not b1. Nothing of it is recorded."
    ]
    assert link is ports.opened[1][1]
    assert [rig.is_closed for rig in ports.rigs] == [True, False]


def test_given_up_in_time(ports: Ports) -> None:
    """Never found: after the time allowed and no wait longer than MOST_WAIT_S, in words."""
    clock = Clock()
    with pytest.raises(LinkError, match="was not found again within 1 min"):
        seeker(ports, clock)("b1", lambda _: None)
    assert 60 <= clock.at_s <= 60 + MOST_WAIT_S
    assert max(clock.waits) == MOST_WAIT_S
