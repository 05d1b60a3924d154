"""Tell a broker what rigs say, beside the record: whatever link is opened meanwhile."""

import logging
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.base.addresses import broker_address
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot, Record
from snapgloss.runs import connect

if TYPE_CHECKING:
    from snapgloss.broker.outlet import Outlet


@contextmanager
def telling_broker(folder: Path, say: Callable[[str], None]) -> Iterator[None]:
    """While this lasts, the broker named for the data folder is told readings and events of every
    rig that this program talks to; none is named usually. `say` is told when it is away.

    Raises InputError for an address that cannot be used. Nothing that happens later is an error.
    """
    url = broker_address(folder)
    if not url:
        yield
        return
    from snapgloss.broker.address import broker_of
    from snapgloss.broker.outlet import Outlet

    with (
        Outlet(broker_of(url), socket.gethostname(), say) as outlet,
        connect.attaching(lambda link: attach(link, outlet)),
    ):
        yield


def attach(link: RigLink, outlet: "Outlet") -> None:
    """Tell the outlet what is taken from a link on which hello is done."""
    assert link.identity is not None
    link.beside = RigTeller(outlet, link.identity).heard


class RigTeller:
    """Tells of one rig, also when it starts anew."""

    def __init__(self, outlet: "Outlet", there: Identity) -> None:
        self._outlet, self._there = outlet, there
        self._at: tuple[str, int] | None = None

    def heard(self, records: list[Record]) -> None:
        """Take what the rig told; returns at once, and never fails its caller."""
        try:
            self._tell(records)
        except Exception:  # a fault of ours here must not be one of the batch
            logging.getLogger(__name__).exception("Telling the broker")

    def _tell(self, records: list[Record]) -> None:
        from snapgloss.broker.messages import event_message, reading_message

        prefix = self._outlet.broker.prefix
        for record in records:
            if isinstance(record, Boot):
                self._there, self._at = record.identity, None
            elif isinstance(record, Reading):
                self._tell_state(record)
                self._outlet.put(reading_message(prefix, self._there, record))
            elif isinstance(record, Event):
                self._outlet.put(event_message(prefix, self._there, record))

    def _tell_state(self, reading: Reading) -> None:
        from snapgloss.broker.messages import state_message

        at = reading.state, reading.step_no
        if at != self._at:
            self._at = at
            outlet = self._outlet
            message = state_message(outlet.broker.prefix, outlet.host, self._there, reading)
            outlet.put(message)
