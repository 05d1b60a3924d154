"""Connections that ask for nothing: how many, and for how long."""

import asyncio
from typing import Any

from snapgloss.web.knocking import ALL_MOST, EACH_MOST, Connections, close_if_silent


class Line(asyncio.Transport):
    """A connection from an address, open until it is told otherwise."""

    def __init__(self, peer: str) -> None:
        super().__init__({"peername": (peer, 50_000)})
        self.is_shut = False
        self.protocol: Any = None

    def is_closing(self) -> bool:
        return self.is_shut

    def abort(self) -> None:
        self.is_shut = True

    def get_protocol(self) -> Any:
        return self.protocol


def test_one_address_has_its_share_and_others_theirs() -> None:
    """Sixty of one address; then another comes in still, and the first when one has closed."""
    connections = Connections()
    lines = [Line("192.0.2.7") for _ in range(EACH_MOST + 1)]
    assert [connections.lets_in(one) for one in lines] == [True] * EACH_MOST + [False]
    assert connections.lets_in(Line("192.0.2.8"))
    lines[0].abort()
    assert connections.lets_in(Line("192.0.2.7"))
    assert not connections.lets_in(Line("192.0.2.7"))


def test_all_addresses_together_have_an_end_but_not_this_computer() -> None:
    """Three hundred from afar; from here always."""
    connections = Connections()
    each = [f"192.0.2.{n}" for n in range(1, 1 + ALL_MOST // EACH_MOST) for _ in range(EACH_MOST)]
    assert all(connections.lets_in(Line(peer)) for peer in each)
    assert not connections.lets_in(Line("198.51.100.1"))
    assert all(connections.lets_in(Line("127.0.0.1")) for _ in range(ALL_MOST + 10))
    assert all(connections.lets_in(Line("::1")) for _ in range(10))


def test_what_has_not_asked_in_time_is_closed() -> None:
    """A request that came, or a page's socket, stays."""

    class Spoken:
        cycle: object = None

    for cycle, is_socket, is_closed in (
        (None, False, True),
        (1, False, False),
        (None, True, False),
    ):
        line, protocol = Line("192.0.2.7"), Spoken()
        protocol.cycle, line.protocol = cycle, object() if is_socket else protocol
        close_if_silent(protocol, line)()
        assert line.is_shut == is_closed
