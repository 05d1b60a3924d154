"""Find a rig again whose cable came out, by what it says of itself, on whatever port it is.

A board may come back under another name. It is known by its id in the answer to hello, and by
nothing else. Only ports that look like the one it was on are asked, and only with a hello.
"""

import threading
from collections.abc import Callable, Sequence

from snapgloss.base.errors import LinkError, SnapglossError
from snapgloss.base.units import show_span
from snapgloss.link.backoff import Backoff
from snapgloss.link.client import RigLink
from snapgloss.link.clock import SystemWaitingClock, WaitingClock
from snapgloss.link.ports import PortRow, list_ports
from snapgloss.runs import outcome as outcomes
from snapgloss.runs.connect import connect

FIRST_WAIT_S, MOST_WAIT_S = 0.5, 8.0
AT_MOST_S = 600

Say = Callable[[str], None]


class Seeker:
    """Made while the rig is at `port`; called when it is gone.

    `open_link` and `list_there` are how a port is opened and what ports there are.
    """

    def __init__(
        self,
        port: str,
        at_most_s: int = AT_MOST_S,
        open_link: Callable[[str], RigLink] = connect,
        list_there: Callable[[], Sequence[PortRow]] = list_ports,
        clock: WaitingClock | None = None,
    ) -> None:
        self._port, self._at_most_s = port, at_most_s
        self._open_link, self._list_there = open_link, list_there
        self._clock = clock or SystemWaitingClock()
        self._usb_id = next((row.usb_id for row in list_there() if row.port == port), "")

    def __call__(self, board: str, say: Say) -> RigLink:
        """Return a link to that board. Raises LinkError when it was not found in time.

        Each new reason why it is not there is said once.
        """
        deadline_s = self._clock.now_s() + self._at_most_s
        said: set[str] = set()
        backoff = Backoff(FIRST_WAIT_S, MOST_WAIT_S)
        while self._clock.now_s() < deadline_s:
            for port in self._candidates():
                link, why = self._try(port, board)
                if link is not None:
                    return link
                if why not in said:
                    say(why)
                    said.add(why)
            self._clock.wait(threading.Event(), backoff.next_s())
        raise LinkError(
            f"The rig was not found again within {show_span(self._at_most_s)}.",
            "Plug it in and run the same schedule again to join the batch.",
        )

    def _candidates(self) -> list[str]:
        """The port it was on, then the ports that look the same."""
        others = [row.port for row in self._list_there() if row.usb_id == self._usb_id]
        return [self._port, *(port for port in others if port != self._port)]

    def _try(self, port: str, board: str) -> tuple[RigLink | None, str]:
        try:
            link = self._open_link(port)
        except SnapglossError as fault:
            return None, str(fault)
        found = link.identity.board if link.identity else ""
        if found == board:
            return link, ""
        link.close()
        return None, f"{port}: {outcomes.ANOTHER.format(board=found, wanted=board)}"
