"""A commissioning on the live session's rig: it has the link, and the page goes on to be told."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Protocol

from snapgloss.base.errors import SnapglossError
from snapgloss.base.records import Reading
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Record
from snapgloss.rigs.description import RigDescription
from snapgloss.runs import words
from snapgloss.runs.commission_places import at_a_rig
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.moment import with_reading
from snapgloss.runs.proving import Proving


class Owns(Protocol):
    """The part of the session that this needs."""

    feed: Feed
    rig: RigDescription
    link: RigLink | None

    def open_link(self, port: str) -> RigLink:
        """Open the port as the session does."""
        ...


def run_proving(session: Owns, proving: Proving, link: RigLink, port: str) -> None:
    """Do its steps. The session's link is the one that is open, whatever cable was out."""
    links = [link]

    def open_link() -> RigLink:
        found = links.pop() if links else session.open_link(port)
        found.on_taken = lambda records: _tell(session.feed, records)
        session.link = found
        return found

    proving.idle = lambda: _listen(session.link)
    proving.run(at_a_rig(session.rig, open_link))


def _listen(link: RigLink | None) -> None:
    """While a person is waited for: readings go on to be shown. A rig may be away meanwhile."""
    with suppress(SnapglossError):
        if link is not None and link.wait(0.0):
            link.take()


def _tell(feed: Feed, records: Sequence[Record]) -> None:
    """The newest reading to the page."""
    reading = next((one for one in reversed(records) if isinstance(one, Reading)), None)
    if reading is None:
        return
    moment = with_reading(feed.moment, reading)
    state_words = words.state_words(reading.state)
    feed.tell(
        replace(moment, state=reading.state, step_words=state_words, now=words.PROVING), (), True
    )
