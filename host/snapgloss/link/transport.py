"""Bytes to and from a rig. The only module that knows pyserial; replace it here or nowhere."""

import errno
import os
import socket
from typing import Any, Protocol

from snapgloss.base.errors import CableOut, LinkError
from snapgloss.base.textfiles import shown_path

READ_WAIT_S = 0.1  # a reader thread looks at its stop flag this often
WRITE_WAIT_S = 2.0
BAUD = 115_200  # USB ignores it; a real UART bridge does not

UNPLUGGED = "Plug the cable in again, at both ends, and run the command again."
HANGS = "Unplug it and plug it in again. Until then it tempers on by itself, if it tempers at all."
REMEDIES = {
    errno.ENOENT: (
        "There is no port {port}.",
        "Plug the rig in and list the ports with `snapgloss ports`.",
    ),
    errno.EBUSY: (
        "The port {port} is busy{holder}.",
        "Close the other program that uses it (a second snapgloss, a serial terminal).",
    ),
    errno.ENOTTY: (
        "{port} is no serial port.",
        "Name the rig's port; list the ports with `snapgloss ports`.",
    ),
    errno.ECONNREFUSED: (
        "Nobody answers at {port}.",
        "Look whether the rig's end of that address is on, and whether the address is right.",
    ),
    errno.EACCES: (
        "You may not open the port {port}.",
        "On Linux, add yourself to the group that owns it (often `dialout`) and log in again.",
    ),
}
SAME_AS = {
    errno.EAGAIN: errno.EBUSY,  # what a second exclusive lock reports
    errno.EPERM: errno.EACCES,
    errno.ENODEV: errno.ENOENT,
    errno.ENXIO: errno.ENOENT,
    errno.ENOTDIR: errno.ENOENT,
    errno.ENAMETOOLONG: errno.ENOENT,
    errno.EISDIR: errno.ENOTTY,
    errno.EINVAL: errno.ENOTTY,
    errno.ETIMEDOUT: errno.ECONNREFUSED,
    errno.EHOSTUNREACH: errno.ECONNREFUSED,
    errno.ENETUNREACH: errno.ECONNREFUSED,
}
NO_ADDRESS = (
    "The port {port} does not open: it is no path, no COM name and no address of a known kind.",
    "Name the rig's port; list the ports with `snapgloss ports`.",
)
UNKNOWN = (
    "The port {port} does not open{why}.",
    "Unplug the rig and plug it in again, and list the ports with `snapgloss ports`.",
)


class Transport(Protocol):
    """A two-way stream of bytes. Each method raises LinkError when the far end is gone."""

    def read(self, most_bytes: int) -> bytes:
        """Return 1..most_bytes bytes, or none after about READ_WAIT_S without any."""

    def write(self, data: bytes) -> None:
        """Send all of data."""

    def close(self) -> None:
        """Let the port go; never raises."""


class SerialTransport:
    """A pyserial port, its exceptions turned into LinkError."""

    def __init__(self, serial_port: Any, port: str) -> None:
        self._serial = serial_port
        self._port = shown_path(port)

    def read(self, most_bytes: int) -> bytes:
        """Return what waits, at most most_bytes; b"" after READ_WAIT_S of silence."""
        try:
            waiting = self._serial.in_waiting
            if waiting == 0:
                first: bytes = self._serial.read(1)
                waiting = self._serial.in_waiting if first else 0
                rest = min(waiting, most_bytes - 1)
                return first + self._serial.read(rest) if rest > 0 else first
            return bytes(self._serial.read(min(waiting, most_bytes)))
        except (OSError, TypeError) as fault:  # pyserial: TypeError when closed under a read
            raise self._gone() from fault

    def write(self, data: bytes) -> None:
        """Send all of data; raises LinkError after WRITE_WAIT_S of a full port."""
        from serial import SerialTimeoutException

        try:
            self._serial.write(data)
        except SerialTimeoutException as fault:  # an OSError too: ask for it first
            raise LinkError(f"The rig on {self._port} takes nothing: it hangs.", HANGS) from fault
        except (OSError, TypeError) as fault:
            raise self._gone() from fault

    def close(self) -> None:
        """Let the port go."""
        try:
            self._serial.close()
        except OSError:
            return  # unplugged: nothing is left to close

    def _gone(self) -> LinkError:
        return CableOut(f"The rig on {self._port} is gone: the cable came out.", UNPLUGGED)


def open_transport(port: str) -> SerialTransport:
    """Open a path, a COM name or a pyserial URL, for this program alone where POSIX allows it.

    Raises LinkError: no such port, busy, not permitted, or what the system said.
    """
    import serial

    exclusive = None if "://" in port else True
    try:
        opened = serial.serial_for_url(
            port,
            baudrate=BAUD,
            timeout=READ_WAIT_S,
            write_timeout=WRITE_WAIT_S,
            exclusive=exclusive,
        )
    except (OSError, ValueError) as fault:
        raise _why_not_open(port, fault) from fault
    return SerialTransport(opened, port)


def _why_not_open(port: str, fault: Exception) -> LinkError:
    """Say it in our own words; the system's number is of no use to a maker."""
    name, number = shown_path(port), _number_of(fault)
    meaning = SAME_AS.get(number, number)
    message, remedy = REMEDIES.get(meaning, UNKNOWN)
    kind = CableOut if meaning == errno.ENOENT else LinkError
    if number == 0 and "://" in port:
        message, remedy = NO_ADDRESS
    why = f": {os.strerror(number).lower()}" if number > 0 else ""
    return kind(message.format(port=name, holder=_held_by(port, number), why=why), remedy)


def _number_of(fault: Exception) -> int:
    """The system's number of a fault: pyserial hides it in the one it was handling."""
    cause = fault.__context__
    if isinstance(cause, socket.gaierror):
        return errno.ECONNREFUSED  # no computer of that name
    for one in (fault, cause):
        number = getattr(one, "errno", None) or (one.args[0] if one and one.args else None)
        if type(number) is int:
            return number
    return 0


def _held_by(port: str, number: int) -> str:
    """Return words on the process that locks the port, empty where the system does not tell."""
    if SAME_AS.get(number, number) != errno.EBUSY:
        return ""
    from snapgloss.link.holder import holder_of

    found = holder_of(port)
    return f": {found} holds it" if found else ""
