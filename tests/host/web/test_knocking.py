"""Connections that ask for nothing: how many, and for how long."""

import asyncio
from typing import Any, cast

from snapgloss.web.knocking import (
    ALL_MOST,
    EACH_MOST,
    HEAD_WITHIN_S,
    Connections,
    look_in,
)


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


class Asked:
    """A request and whether its answer is whole."""

    def __init__(self, response_complete: bool) -> None:
        self.response_complete = response_complete


class Spoken:
    """The protocol of a line, which keeps what it is told to call later."""

    def __init__(self, cycle: Asked | None) -> None:
        self.cycle = cycle
        self.loop = self
        self.later: list[tuple[Any, ...]] = []

    def call_later(self, within_s: float, *call: Any) -> None:
        self.later.append((within_s, *call))


def looked(cycle: Asked | None, seen: Asked | None, is_socket: bool = False) -> tuple[bool, int]:
    """Whether a look closed the line, and how often it is looked at again."""
    line, protocol = Line("192.0.2.7"), Spoken(cycle)
    line.protocol = object() if is_socket else protocol
    look_in(cast(Any, protocol), line, seen)
    assert all(row == (HEAD_WITHIN_S, look_in, protocol, line, cycle) for row in protocol.later)
    return line.is_shut, len(protocol.later)


def test_what_has_not_asked_in_time_is_closed() -> None:
    """Nothing asked, or nothing since the last look; half a head counts as nothing."""
    done, streams = Asked(True), Asked(False)
    assert looked(None, None) == (True, 0)
    assert looked(done, done) == (True, 0)
    assert looked(done, None) == (False, 1)
    assert looked(done, streams) == (False, 1)
    assert looked(streams, streams) == (False, 1), "a stream is one long answer"
    assert looked(None, None, is_socket=True) == (False, 0)
