"""The rig's end of the cable, and who counts as attached."""

import os
import select
import sys
from collections.abc import Iterator

import pytest

from snapgloss.virtual.cable import Cable
from snapgloss.virtual.port import PtyPort

pytestmark = pytest.mark.timeout(20)


class FakePort:
    """Takes `takes` bytes a write; `host` is what waits from the host."""

    url = "fake"

    def __init__(self) -> None:
        self.host = b""
        self.takes = 1000
        self.sent = b""
        self.left = 0

    def read(self, most: int) -> bytes:
        """Give what waits."""
        data, self.host = self.host[:most], self.host[most:]
        return data

    def write(self, data: bytes) -> int:
        """Take some."""
        self.sent += data[: self.takes]
        return min(self.takes, len(data))

    def unread(self) -> int:
        """What the host has left."""
        return self.left

    def close(self) -> None:
        """Nothing to close."""


def test_nobody_attached_is_never_waited_for() -> None:
    """Output that nobody takes is dropped, unread bytes do not count, and there is room."""
    port = FakePort()
    port.takes, port.left = 3, 500
    cable = Cable(port)
    cable.give_out(b"abcdef")
    cable.give_out(b"ghi")
    assert port.sent == b"abcghi"
    assert cable.unread() == 0 and cable.room(256) == 256


def test_an_attached_host_gets_every_byte_in_order() -> None:
    """Once a byte came in, what did not fit is kept and the firmware has no room meanwhile."""
    port = FakePort()
    cable = Cable(port)
    port.host = b"x"
    assert cable.take_in(10) == b"x" and cable.attached
    port.takes = 4
    cable.give_out(b"abcdefgh")
    assert cable.room(256) == 0
    assert cable.unread() == 0  # looking for unread bytes also hands over what was behind
    assert cable.room(256) == 256 and port.sent == b"abcdefgh"


def test_a_host_that_is_gone_counts_again_when_it_writes() -> None:
    """Attachment ends with `host_is_gone` and begins with the next byte."""
    port = FakePort()
    cable = Cable(port)
    port.host, port.left = b"x", 9
    cable.take_in(1)
    assert cable.unread() == 9
    cable.host_is_gone()
    assert cable.unread() == 0
    port.host = b"y"
    cable.take_in(1)
    assert cable.unread() == 9


@pytest.fixture
def pty() -> Iterator[PtyPort]:
    """A port; closed afterwards."""
    if sys.platform == "win32":
        pytest.skip("no pseudo-terminals on this system")
    port = PtyPort()
    yield port
    port.close()


def read_exactly(fd: int, count: int) -> bytes:
    """That many bytes, within 5 s."""
    data = b""
    while len(data) < count and select.select([fd], [], [], 5)[0]:
        data += os.read(fd, count - len(data))
    return data


def test_every_byte_value_passes_both_ways(pty: PtyPort) -> None:
    """Raw at both ends: no echo, no CR, no signal characters."""
    every = bytes(range(256))
    host = os.open(pty.url, os.O_RDWR | os.O_NOCTTY)
    try:
        assert pty.write(every) == 256
        assert read_exactly(host, 256) == every
        os.write(host, every)
        back = b""
        while len(back) < 256:
            back += pty.read(512)
        assert back == every
        assert pty.read(512) == b""
    finally:
        os.close(host)


def test_unread_counts_what_the_host_has_left(pty: PtyPort) -> None:
    """100 bytes written are 100 unread; read, they are 0."""
    host = os.open(pty.url, os.O_RDWR | os.O_NOCTTY)
    try:
        pty.write(b"x" * 100)
        while pty.unread() < 100:  # the kernel hands over in its own time
            pass
        assert pty.unread() == 100
        assert len(read_exactly(host, 100)) == 100
        assert pty.unread() == 0
    finally:
        os.close(host)


def test_the_port_survives_a_host_that_closes_and_opens_again(pty: PtyPort) -> None:
    """The slave stays open at the rig's side, so there is no hang-up."""
    for word in (b"first", b"again"):
        host = os.open(pty.url, os.O_RDWR | os.O_NOCTTY)
        pty.write(word)
        assert read_exactly(host, 5) == word
        os.close(host)


def test_a_host_that_never_reads_cannot_block_the_rig(pty: PtyPort) -> None:
    """Writes beyond what the kernel holds are refused at once, not waited for."""
    taken = sum(pty.write(b"x" * 256) for _ in range(10_000))
    assert 0 < taken < 200_000


def test_closing_twice_is_harmless(pty: PtyPort) -> None:
    """And afterwards the port cannot be used."""
    pty.close()
    pty.close()
    with pytest.raises(ValueError, match="descriptor"):
        pty.read(1)
