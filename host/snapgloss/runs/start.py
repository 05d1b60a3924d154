"""Ask a rig for the start of a batch; a person presses."""

from collections.abc import Callable
from contextlib import suppress

from snapgloss.base.errors import RigError
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.link.client import RigLink
from snapgloss.runs import connect, words
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.plan import BatchPlan


def ask(
    plan: BatchPlan, link: RigLink, identity: Identity, say: Callable[[str], None]
) -> Identity:
    """Upload the schedule and ask for its start; the link follows what comes from then on.

    A window that a host left open is joined, or closed when it is for something else; the
    answer is the rig's newest word on itself. Raises RigError when the rig refuses.
    """
    if identity.state == "ready":
        if identity.digest_held == plan.digest:
            _join_window(link, identity, say)
            return identity
        link.off()
        say(outcomes.WINDOW_CLOSED)
        identity = link.hello(connect.HOST_VERSION)
    _follow_on(link, identity)
    digest = link.upload(plan.body)
    keep_window(link, identity, None)  # before it is there, so that it is never without a keeper
    link.ask_start(digest)
    keep_window(link, identity, None)
    return identity


def keep_window(link: RigLink, identity: Identity, started_ms: int | None) -> None:
    """Tell a rig whose start window is open, or is asked for next, that this host is there: it
    must be told again within 5 s, else it closes the window, so that no press starts a batch that
    nobody follows.

    A simulated rig heats nothing, and may run too fast to be told in time. A rig of an older
    version keeps its window for its 3 minutes, or until it was told in the window.
    """
    if started_ms is None and not identity.simulated:
        with suppress(RigError):  # it drives nothing, and is refused
            link.lease(0, 0, 0)


def missed(link: RigLink, identity: Identity, last_seq: tuple[int, int]) -> list[Reading | Event]:
    """What the rig told of this boot after `last_seq` and before it introduced itself.

    A host that died in an open start window had not written all that it heard. Nothing is
    missed where nothing of this boot was written: the record begins with what comes from now on.
    """
    if identity.state != "ready" or last_seq == (-1, -1):
        return []
    link.follow_from(last_seq[0] + 1, last_seq[1] + 1)
    found = link.catch_up(identity.newest_reading, identity.newest_event)
    return [
        record
        for record in found
        if (isinstance(record, Reading) and record.seq <= identity.newest_reading)
        or (isinstance(record, Event) and record.seq <= identity.newest_event)
    ]


def _join_window(link: RigLink, identity: Identity, say: Callable[[str], None]) -> None:
    """A host that is gone has asked for this start. It is not asked for again: a hand may be on
    the button, and a press counts only when it begins after the request."""
    _follow_on(link, identity)
    say(f"{outcomes.WINDOW_JOINED} {words.PRESS_START}")


def _follow_on(link: RigLink, identity: Identity) -> None:
    link.follow_from(identity.newest_reading + 1, identity.newest_event + 1)
