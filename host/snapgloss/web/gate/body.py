"""The body of a request, taken whole before anybody acts on it: bounded in size and in time."""

import asyncio
from collections.abc import Awaitable, Callable

from starlette.types import Message, Receive

Refuse = Callable[[int], Awaitable[None]]
TOO_LARGE, TOO_SLOW, CUT_OFF = 413, 408, 400


class BodyRefused(Exception):
    """The body is not taken; `status` is what to answer."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


async def whole_body(receive: Receive, most_bytes: int, within_s: float) -> bytes:
    """Return the body. Raises BodyRefused when it is too large, too slow, or breaks off."""
    try:
        async with asyncio.timeout(within_s):
            return await _collected(receive, most_bytes)
    except TimeoutError:
        raise BodyRefused(TOO_SLOW) from None


async def _collected(receive: Receive, most_bytes: int) -> bytes:
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise BodyRefused(CUT_OFF)
        body += bytes(message.get("body", b""))
        if len(body) > most_bytes:
            raise BodyRefused(TOO_LARGE)
        if not message.get("more_body", False):
            return body


def replayed(body: bytes, receive: Receive) -> Receive:
    """Return a `receive` that gives the body once, and then what still comes."""
    given = False

    async def receive_again() -> Message:
        nonlocal given
        if not given:
            given = True
            return {"type": "http.request", "body": body, "more_body": False}
        return await receive()

    return receive_again
