"""Open a port, and know who is there."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rigfw.version import __version__
from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.link.client import RigLink
from snapgloss.link.clock import WaitingClock
from snapgloss.link.transport import Transport, open_transport

HOST_VERSION = f"snapgloss {__version__}"

_attached: list[Callable[[RigLink], None]] = []


@contextmanager
def attaching(attach: Callable[[RigLink], None]) -> Iterator[None]:
    """While this lasts, `attach` is given every link that is opened, from whatever thread and for
    whatever reason: a batch, a rig that is found again, a page that waits for one."""
    _attached.append(attach)
    try:
        yield
    finally:
        _attached.remove(attach)


def connect(port: str, clock: WaitingClock | None = None) -> RigLink:
    """Return a link on which hello is done; its `identity` is set.

    Raises InputError for an empty name, LinkError when the port does not open or nobody answers,
    VersionError when the rig speaks another major version of the wire. The port is closed then.
    """
    if not port.strip():
        raise InputError(
            "The name of the port is empty.",
            "Name the rig's port; list the ports with `snapgloss ports`.",
        )
    return introduce(open_transport(port), clock)


def introduce(transport: Transport, clock: WaitingClock | None = None) -> RigLink:
    """Say hello over an open transport; see `connect`."""
    link = RigLink(transport, clock)
    try:
        link.hello(HOST_VERSION)
    except SnapglossError:
        link.close()
        raise
    for attach in _attached:
        attach(link)
    return link
