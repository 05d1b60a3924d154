"""The serial port over a pseudo-terminal, and its errors in words."""

import contextlib
import errno
import os
import pty
import tty
from collections.abc import Iterator

import pytest

from snapgloss.base.errors import LinkError
from snapgloss.link.transport import _why_not_open, open_transport


@pytest.fixture
def pair() -> Iterator[tuple[int, str]]:
    """A raw pseudo-terminal: the far end's descriptor and the near end's path."""
    far, near = pty.openpty()
    tty.setraw(far)
    tty.setraw(near)
    path = os.ttyname(near)
    os.close(near)
    yield far, path
    with contextlib.suppress(OSError):
        os.close(far)


def test_bytes_go_both_ways(pair: tuple[int, str]) -> None:
    """Bytes arrive unchanged, control bytes and line ends included."""
    far, path = pair
    port = open_transport(path)
    os.write(far, b"\x03\r\n[1]")
    got = b""
    while len(got) < 6:
        got += port.read(64)
    assert got == b"\x03\r\n[1]"
    port.write(b"\n\x04")
    assert os.read(far, 10) == b"\n\x04"
    port.close()


def test_read_gives_at_most_what_was_asked(pair: tuple[int, str]) -> None:
    """A read never returns more bytes than asked for."""
    far, path = pair
    port = open_transport(path)
    os.write(far, b"abcdef")
    assert 1 <= len(port.read(2)) <= 2
    port.close()


def test_no_such_port() -> None:
    """A path that is not there says so and names the command that lists ports."""
    with pytest.raises(LinkError) as caught:
        open_transport("/dev/no-rig-here")
    assert caught.value.message == "There is no port /dev/no-rig-here."
    assert "snapgloss ports" in caught.value.remedy


def test_busy_port(pair: tuple[int, str]) -> None:
    """A second opening is refused as busy."""
    _, path = pair
    port = open_transport(path)
    with pytest.raises(LinkError, match="is busy"):
        open_transport(path)
    port.close()


def test_no_permission() -> None:
    """Errno 13 becomes a sentence about the port's group."""
    error = _why_not_open("/dev/ttyACM0", PermissionError(13, "denied"))
    assert error.message == "You may not open the port /dev/ttyACM0."
    assert "dialout" in error.remedy


@pytest.mark.parametrize(
    ("port", "message"),
    [
        ("/dev/null", "/dev/null is no serial port."),
        ("/", "/ is no serial port."),
        ("/dev/null/x", "There is no port /dev/null/x."),
        ("socket://here", "The port socket://here does not open: it is no path, no COM name "
         "and no address of a known kind."),
    ],
)  # fmt: skip
def test_what_is_no_port_is_said_in_our_own_words(port: str, message: str) -> None:
    """No number and no text of the system comes through."""
    with pytest.raises(LinkError) as caught:
        open_transport(port)
    assert caught.value.message == message


def test_nobody_at_an_address() -> None:
    """pyserial hides the refusal inside an error of its own; ours says that nobody answers."""
    try:
        try:
            raise ConnectionRefusedError(errno.ECONNREFUSED, "Connection refused")
        except ConnectionRefusedError as refused:
            raise OSError(f"Could not open port socket://127.0.0.1:1: {refused}")  # noqa: B904
    except OSError as fault:
        error = _why_not_open("socket://127.0.0.1:1", fault)
    assert error.message == "Nobody answers at socket://127.0.0.1:1."
    assert "Errno" not in str(error)


def test_a_long_name_is_shown_by_its_end() -> None:
    """3,000 letters do not fill the screen."""
    with pytest.raises(LinkError) as caught:
        open_transport("/dev/" + "x" * 3000)
    assert len(caught.value.message) < 250


def test_unknown_url() -> None:
    """A URL of no known kind is a LinkError, not a traceback."""
    with pytest.raises(LinkError, match="does not open"):
        open_transport("nosuch://rig")


def test_unplugged(pair: tuple[int, str]) -> None:
    """When the far end goes, read and write both say that the cable came out."""
    far, path = pair
    port = open_transport(path)
    os.close(far)
    with pytest.raises(LinkError, match="the cable came out"):
        port.read(10)
    with pytest.raises(LinkError, match="the cable came out"):
        port.write(b"x")
    port.close()
