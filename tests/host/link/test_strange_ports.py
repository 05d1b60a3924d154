"""Ports with something else behind them: a board at its prompt, an echo, a hang, another boot.

Scripted fakes and pseudo-terminals; nothing is ever sent to them but a hello.
"""

import os
import threading
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from rigwire import messages
from snapgloss.base.errors import LinkError
from snapgloss.base.records import Event, Reading
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot
from snapgloss.link.exchange import TRIES
from snapgloss.link.following import WINDOW
from snapgloss.link.streams import Gap
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.link.transport import SerialTransport, open_transport

MISSING = messages.MISSING_MC


def values(at_ms: int, product_mc: int = 31_500) -> tuple[int, ...]:
    """Eleven values of a reading in `melting`, without a plate probe."""
    return (at_ms, 3, 1, 48_000, product_mc, MISSING, 21_000, 700, 0, 200, 0)


@pytest.fixture
def rig() -> ScriptedRig:
    """A rig of our own."""
    return ScriptedRig()


@pytest.fixture
def link(rig: ScriptedRig) -> Iterator[RigLink]:
    """A link to it, closed at the end."""
    link = RigLink(rig, ScriptedClock(rig))
    yield link
    link.close()


# --- at its prompt ---


class Board(ScriptedRig):
    """A board that runs no program: it says and echoes what `answer_to` gives for each line."""

    def __init__(self, answer_to: Callable[[bytes], bytes]) -> None:
        super().__init__()
        self._answer_to = answer_to

    def write(self, data: bytes) -> None:
        """Keep what was typed and answer as a prompt does."""
        self.frames.append(data)
        self.send(self._answer_to(data))


PROMPTS: dict[str, Callable[[bytes], bytes]] = {
    # MicroPython's friendly prompt takes LF for no end of line: it echoes on one line.
    "friendly": lambda data: b">>> " + data.rstrip(b"\n"),
    "after a traceback": lambda data: data + b"\r\nTraceback (most recent call last):\r\n>>> ",
    "raw": lambda data: b"raw REPL; CTRL-B to exit\r\n>",
    "only echo": lambda data: data,
}


@pytest.mark.parametrize("kind", PROMPTS)
def test_a_board_at_its_prompt(kind: str) -> None:
    """Its prompt, or our hello echoed: the sentence and the remedy, after one wait, and nothing
    was sent but hello: no control character at all."""
    board = Board(PROMPTS[kind])
    clock = ScriptedClock(board)
    link = RigLink(board, clock)
    with pytest.raises(LinkError) as caught:
        link.hello("0.1.0")
    link.close()
    sure = "The board is at its prompt: its program is not running."
    perhaps = (
        "The board is at its prompt, or this is no rig: the port only repeats what it is told."
    )
    assert caught.value.message == (perhaps if kind == "only echo" else sure)
    assert "firmware" in caught.value.remedy
    assert clock.at_s <= 2.0
    sent = b"".join(board.frames)
    assert all(frame.startswith(b'["hello",') for frame in board.frames)
    assert not [byte for byte in sent if byte < 0x20 and byte != 0x0A]


def test_a_device_that_talks_and_is_no_rig_is_called_so() -> None:
    """A printer's status line for every frame: another device, not a silent rig."""
    board = Board(lambda _data: b"STATUS 24 OK\r\n")
    link = RigLink(board, ScriptedClock(board))
    with pytest.raises(LinkError) as caught:
        link.hello("0.1.0")
    link.close()
    assert caught.value.message == "Something answers on this port, but it is no rig."


def test_a_prompt_that_goes_by_while_the_rig_answers(rig: ScriptedRig, link: RigLink) -> None:
    """`>>> ` on the console before the program starts is no reason to give up on an answer."""
    rig.send(b"MicroPython v1.2\r\n>>> \r\n")
    rig.settle()
    assert link.hello("0.1.0").board == "scripted"


# --- half open ---


def test_a_port_that_takes_and_gives_nothing(rig: ScriptedRig, link: RigLink) -> None:
    """No byte ever comes: TRIES hellos, then a sentence that says where to look."""
    rig.answers["hello"] = None
    with pytest.raises(LinkError, match="does not answer") as caught:
        link.hello("0.1.0")
    assert "snapgloss ports" in caught.value.remedy
    assert len(rig.frames) == TRIES


def test_a_rig_that_fell_silent_is_no_stranger(rig: ScriptedRig, link: RigLink) -> None:
    """It answered once, its readings came, half a frame as well, and then nothing: it does not
    answer. Its own frames from before are no other device's."""
    link.hello("0.1.0")
    rig.push_reading(values(1000))
    rig.send(bytes(messages.encode("reading", 1, values(2000)))[:20])
    rig.settle()
    rig.answers["hello"] = None
    with pytest.raises(LinkError, match="The rig does not answer"):
        link.hello("0.1.0")


def test_a_hung_rig_whose_last_frames_still_wait_in_the_port(rig: ScriptedRig) -> None:
    """Another host opens the port of a rig that hangs, and reads what was sent before."""
    rig.answers["hello"] = None
    rig.push_reading(values(1000))
    link = RigLink(rig, ScriptedClock(rig))
    rig.settle()
    with pytest.raises(LinkError, match="The rig does not answer"):
        link.hello("0.1.0")
    link.close()


def test_a_rig_whose_program_ended_is_at_its_prompt(rig: ScriptedRig, link: RigLink) -> None:
    """What it sent as a rig does not hide the prompt that came after."""
    link.hello("0.1.0")
    rig.answers["hello"] = None
    rig.push_reading(values(1000))
    rig.send(b"Traceback (most recent call last):\r\nMemoryError:\r\n>>> ")
    rig.settle()
    with pytest.raises(LinkError, match="at its prompt"):
        link.hello("0.1.0")


@contextmanager
def full_pty() -> Iterator[str]:
    """A port whose far end takes nothing any more."""
    master, slave = os.openpty()
    tty.setraw(master)
    tty.setraw(slave)
    os.set_blocking(slave, False)
    with pytest.raises(BlockingIOError):
        while True:
            os.write(slave, b"x" * 512)
    yield os.ttyname(slave)
    os.close(slave)
    os.close(master)


def test_a_port_whose_writes_go_nowhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """A full port is not called unplugged: it hangs, and the words say so, in bounded time."""
    from snapgloss.link import transport

    monkeypatch.setattr(transport, "WRITE_WAIT_S", 0.05)
    with full_pty() as path:
        port: SerialTransport = open_transport(path)
        with pytest.raises(LinkError, match="takes nothing: it hangs") as caught:
            port.write(b"y" * 4096)
        port.close()
    assert "in again" in caught.value.remedy


# --- another boot ---


def test_a_rig_that_starts_anew_is_noticed_by_its_boot(rig: ScriptedRig, link: RigLink) -> None:
    """A boot in mid-stream: the new identity, then its rows from the first on; none mixed."""
    link.hello("0.1.0")
    for second in range(5):
        rig.push_reading(values(second * 1000))
    rig.push_event(10, "press")
    rig.settle()
    link.take()
    rig.boot_nonce = 78
    rig.readings.clear()
    rig.events.clear()
    rig.push_event(0, "boot", 1)
    rig.push_reading(values(1000, 30_000))
    rig.settle()
    boot, *rest = link.take()
    assert isinstance(boot, Boot)
    assert boot.identity.boot_nonce == 78
    assert [(type(one), one.seq) for one in rest if isinstance(one, Event | Reading)] == [
        (Event, 0), (Reading, 0),
    ]  # fmt: skip


def test_a_boot_that_shows_only_in_its_readings(rig: ScriptedRig, link: RigLink) -> None:
    """When event and status were lost, a known number with other values gives it away."""
    link.hello("0.1.0")
    for second in range(3):
        rig.push_reading(values(second * 1000))
    rig.settle()
    link.take()
    rig.boot_nonce = 79
    rig.readings.clear()
    rig.push_reading(values(250, 30_000))
    rig.settle()
    taken = link.take()
    assert isinstance(taken[0], Boot)
    assert [one.product_mc for one in taken if isinstance(one, Reading)] == [30_000]


def test_a_repeated_row_is_no_new_boot(rig: ScriptedRig, link: RigLink) -> None:
    """A push that the fetch before it gave already costs no hello."""
    link.hello("0.1.0")
    rig.push_reading(values(0))
    rig.send(messages.encode("reading", 0, values(0)))
    rig.settle()
    link.take()
    assert [m.name for m in rig.done] == ["hello"]


# --- catching up ---


def test_a_window_of_fetches_is_under_way(rig: ScriptedRig, link: RigLink) -> None:
    """WINDOW requests go out before the first answer is waited for, and one `take` brings no more
    than they do: live pushes are not held up by a long journal."""
    for second in range(100):
        rig.push_reading(values(second * 1000), heard=False)
    link.follow_from(0, 0)
    link.expect(99, -1)
    assert link.behind() == 100
    taken = link.take()
    assert [m.values[0] for m in rig.done] == [0, 3, 6, 9]
    assert [one.seq for one in taken if isinstance(one, Reading)] == list(range(3 * WINDOW))
    assert link.behind() == 100 - 3 * WINDOW


def test_what_is_overwritten_while_it_is_fetched(rig: ScriptedRig, link: RigLink) -> None:
    """The ring moves on under the fetches: what is lost is one Gap, what is there comes once."""
    for second in range(20):
        rig.push_reading(values(second * 1000), heard=False)
    link.follow_from(0, 0)
    rig.then["fetch"] = lambda: rig.lost_below.__setitem__(0, 8)
    taken = link.catch_up(19, -1)
    gaps = [one for one in taken if isinstance(one, Gap)]
    numbers = [one.seq for one in taken if isinstance(one, Reading)]
    assert numbers == [0, 1, 2, *range(8, 20)]
    assert [(gap.from_seq, gap.to_seq) for gap in gaps] == [(3, 7)]


def test_off_overtakes_a_request_that_hangs() -> None:
    """From another thread, while a fetch waits for its first answer: off is sent and done."""
    rig = ScriptedRig()
    rig.answers["fetch"] = None
    done, hanging = threading.Event(), threading.Event()
    waits: list[float] = []

    class Patient(ScriptedClock):
        """Lets the hanging request wait until off is done."""

        def wait(self, ready: threading.Event, at_most_s: float) -> bool:
            if threading.current_thread().name != "hangs":
                return super().wait(ready, at_most_s)
            waits.append(at_most_s)
            hanging.set()
            done.wait(10)
            return False

    def hang() -> None:
        with pytest.raises(LinkError, match="does not answer"):
            link.take()

    link = RigLink(rig, Patient(rig))
    rig.push_reading(values(0), heard=False)
    link.follow_from(0, 0)
    link.expect(0, -1)
    thread = threading.Thread(target=hang, name="hangs")
    thread.start()
    assert hanging.wait(5)
    link.off()
    assert len(waits) == 1
    done.set()
    thread.join(10)
    assert not thread.is_alive()
    link.close()
    assert [m.name for m in rig.done][:2] == ["fetch", "off"]
