"""Which rig is on which port: found by what each board says of itself, and remembered.

For several rigs at once. A port is asked only when it looks like one that a rig was on, or is one,
nobody here uses it, and it is not known already; asked is with a hello and nothing else.
"""

import threading
from collections.abc import Callable, Sequence

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.link.client import RigLink
from snapgloss.link.ports import PortRow, list_ports
from snapgloss.runs.connect import connect
from snapgloss.runs.known_rigs import KnownRig


class RigPorts:
    """Shared by the sessions of one program; each has a finder. `open_link` and `list_there` are
    for tests."""

    def __init__(
        self, rigs: Sequence[KnownRig], open_link: Callable[[str], RigLink] = connect,
        list_there: Callable[[], Sequence[PortRow]] = list_ports,
    ) -> None:  # fmt: skip
        self._usb_ids = {one.usb_id for one in rigs if one.usb_id}
        # Ports that no system lists: an address in the network, a simulated rig.
        self._unlisted = [one.port for one in rigs if one.port and not one.usb_id]
        self._open_link, self._list_there = open_link, list_there
        self._lock = threading.Lock()
        self._board_at: dict[str, str] = {}
        self._used_by: dict[str, str] = {}

    def finder(self, board: str) -> Callable[[], str]:
        """Return what names the port of a board, empty while it is not there. Called again it
        takes it that the last answer is good no more."""
        return lambda: self.find(board)

    def find(self, board: str) -> str:
        """Return the port of a board; see `finder`."""
        with self._lock:
            last = self._used_by.pop(board, "")
            self._board_at.pop(last, None)
            listed = [row.port for row in self._list_there() if row.usb_id in self._usb_ids]
            there = list(dict.fromkeys([*listed, *self._unlisted]))
            self._board_at = {p: b for p, b in self._board_at.items() if p in there}
            port = self._known(board) or self._asked(board, there)
            if port:
                self._used_by[board] = port
            return port

    def _known(self, board: str) -> str:
        return next((port for port, one in self._board_at.items() if one == board), "")

    def _asked(self, board: str, there: Sequence[str]) -> str:
        for port in there:
            if port in self._board_at or port in self._used_by.values():
                continue
            self._board_at[port] = found = self._who_is_at(port)
            if found == board:
                return port
            if not found:  # it may only be slow: ask it again the next time
                del self._board_at[port]
        return ""

    def _who_is_at(self, port: str) -> str:
        try:
            link = self._open_link(port)
        except SnapglossError:
            return ""
        link.close()
        return link.identity.board if link.identity else ""


def port_of(rig: KnownRig, ports: RigPorts | None = None) -> str:
    """Return the port a rig is on. Raises InputError when it is on none."""
    port = (ports or RigPorts([rig])).find(rig.board)
    if not port:
        raise InputError(
            f'The rig "{rig.name}" is not plugged in, or does not answer.',
            "Plug it in with a data cable; see `snapgloss ports`.",
        )
    return port
