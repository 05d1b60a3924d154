"""The rig's end of the cable: a pseudo-terminal that a host opens like a serial port.

Where a host cannot open a pseudo-terminal it is a TCP port on the loopback address, which
pyserial opens as `socket://127.0.0.1:N`. That form was tried on Linux only.
"""

import array
import contextlib
import os
import socket
import sys
from typing import Protocol

from snapgloss.base.errors import RigError

_SEND_BUFFER_BYTES = 4096  # a slow host shall hold the rig soon, not megabytes later
_DROP_BEHIND_BYTES = 2048  # half of what the kernel's line discipline holds for a reader


class RigPort(Protocol):
    """What the rig needs of its cable. Nothing here waits."""

    url: str

    def read(self, most: int) -> bytes:
        """Up to `most` bytes from the host; empty when none wait."""
        ...

    def write(self, data: bytes) -> int:
        """Bytes taken of `data`, from 0 to all."""
        ...

    def unread(self) -> int:
        """Bytes that a host has not read yet; 0 where the system cannot tell."""
        ...

    def close(self) -> None:
        """Close every descriptor."""
        ...


class PtyPort:
    """A pseudo-terminal, raw at both ends.

    The slave stays open here, so a host that closes and opens again, and a firmware that is
    restarted, never make a hang-up for the other.
    """

    def __init__(self) -> None:
        import fcntl
        import termios
        import tty

        self._ioctl = fcntl.ioctl
        self._fionread = termios.FIONREAD
        self._master, self._slave = os.openpty()
        tty.setraw(self._master)
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.url = os.ttyname(self._slave)
        self._count = array.array("i", [0])

    def _waiting(self, fd: int) -> int:
        self._ioctl(fd, self._fionread, self._count)
        return self._count[0]

    def read(self, most: int) -> bytes:
        """Up to `most` bytes from the host; empty when none wait."""
        return os.read(self._master, most) if self._waiting(self._master) else b""

    def write(self, data: bytes) -> int:
        """Bytes the kernel took. 0 when a host left far too much unread."""
        if self.unread() > _DROP_BEHIND_BYTES:
            return 0
        try:
            return os.write(self._master, data)
        except BlockingIOError:
            return 0

    def unread(self) -> int:
        """Bytes that wait for the host at its end."""
        return self._waiting(self._slave)

    def close(self) -> None:
        """Close both ends. May be called again."""
        for fd in (self._master, self._slave):
            with contextlib.suppress(OSError):
                os.close(fd)
        self._master = self._slave = -1


class SocketPort:
    """One host at a time on a loopback TCP port; another may come after it has gone."""

    def __init__(self) -> None:
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.setblocking(False)
        self._host: socket.socket | None = None
        self.url = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"

    def read(self, most: int) -> bytes:
        """Up to `most` bytes from the host; accepts one that waits."""
        if self._host is None:
            self._accept()
        if self._host is None:
            return b""
        try:
            data = self._host.recv(most)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self._drop()
        return data

    def _accept(self) -> None:
        with contextlib.suppress(BlockingIOError):
            self._host, _ = self._listener.accept()
            self._host.setblocking(False)
            self._host.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _SEND_BUFFER_BYTES)
            self._host.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def _drop(self) -> None:
        if self._host is not None:
            self._host.close()
            self._host = None

    def write(self, data: bytes) -> int:
        """Bytes taken; with no host they go nowhere, as on a cable that is not plugged in."""
        if self._host is None:
            return len(data)
        try:
            return self._host.send(data)
        except BlockingIOError:
            return 0
        except OSError:
            self._drop()
            return len(data)

    def unread(self) -> int:
        """Always 0: a socket does not tell what its other end has left unread."""
        return 0

    def close(self) -> None:
        """Close the host's connection and the listener."""
        self._drop()
        self._listener.close()


def open_port(over_socket: bool = False) -> RigPort:
    """The rig's port. Raises RigError where this system has no pseudo-terminals."""
    if over_socket:
        return SocketPort()
    if sys.platform == "win32":
        raise RigError(
            "The virtual rig was never tried on Windows, which has no pseudo-terminals.",
            "Run it on Linux, on macOS or in WSL.",
        )
    return PtyPort()
