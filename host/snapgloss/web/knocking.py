"""Connections before anybody has asked for anything: how many there may be, and for how long.

Whoever opens hundreds and says nothing must not keep a tablet from saying off.
"""

import asyncio

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from snapgloss.web.gate.doors import is_loopback

EACH_MOST = 60  # own choice: of one address; a browser keeps six, and a socket for each page
ALL_MOST = 300
HEAD_WITHIN_S = 10.0


class Connections:
    """Those that are open, by address. This computer's own are never refused."""

    def __init__(self) -> None:
        self._open: dict[str, set[asyncio.BaseTransport]] = {}

    def lets_in(self, transport: asyncio.BaseTransport) -> bool:
        """True, and counted until it closes, where there is room for it."""
        peer = str((transport.get_extra_info("peername") or ("127.0.0.1",))[0])
        if is_loopback(peer):
            return True
        self._forget_closed()
        mine = self._open.setdefault(peer, set())
        if len(mine) >= EACH_MOST or sum(map(len, self._open.values())) >= ALL_MOST:
            return False
        mine.add(transport)
        return True

    def _forget_closed(self) -> None:
        # A socket of a page leaves HTTP behind, so nobody tells here when it ends.
        for peer, mine in list(self._open.items()):
            mine -= {one for one in mine if one.is_closing()}
            if not mine:
                del self._open[peer]


def protocol_of(connections: Connections) -> type[asyncio.Protocol]:
    """Return the server's protocol with these limits."""

    class Guarded(HttpToolsProtocol):
        """Closes what finds no room, and what has not asked in time."""

        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            if not connections.lets_in(transport):
                transport.abort()
                return
            self.loop.call_later(HEAD_WITHIN_S, look_in, self, transport)

    return Guarded


def look_in(
    protocol: HttpToolsProtocol, transport: asyncio.Transport, seen: object = None
) -> None:
    """Close a connection that has asked for nothing since the last look, and look again.

    `seen` is the request that was there then. A page's socket speaks another protocol by now.
    """
    if transport.is_closing() or transport.get_protocol() is not protocol:
        return
    asked = protocol.cycle
    if asked is None or (asked is seen and asked.response_complete):
        transport.abort()
        return
    protocol.loop.call_later(HEAD_WITHIN_S, look_in, protocol, transport, asked)
