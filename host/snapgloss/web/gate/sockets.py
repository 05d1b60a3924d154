"""Sockets that were let in: so many at once, and so much on each."""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from snapgloss.base.clock import Clock
from snapgloss.web.gate import limits

TOO_MUCH, TOO_LARGE = 1008, 1009
GONE: Message = {"type": "websocket.disconnect", "code": TOO_MUCH}


class Sockets:
    """Counts the sockets of an app, and the messages on each."""

    def __init__(self, app: ASGIApp, clock: Clock) -> None:
        self._app, self._clock, self._open = app, clock, 0

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one socket until it ends; refuse it when there are too many."""
        if self._open >= limits.SOCKETS_MOST:
            await send({"type": "websocket.close", "code": 1013})
            return
        self._open += 1
        try:
            await self._app(scope, self._counted(receive, send), send)
        finally:
            self._open -= 1

    def _counted(self, receive: Receive, send: Send) -> Receive:
        bucket = limits.Bucket(limits.MESSAGES, self._clock.now_s())
        is_closed = False

        async def receive_counted() -> Message:
            nonlocal is_closed
            if is_closed:
                return GONE
            message = await receive()
            code = _fault(message, bucket, self._clock.now_s())
            if code:
                is_closed = True
                await send({"type": "websocket.close", "code": code})
                return GONE
            return message

        return receive_counted


def _fault(message: Message, bucket: limits.Bucket, now_s: float) -> int:
    if message["type"] != "websocket.receive":
        return 0
    size = len(message.get("bytes") or b"") + len((message.get("text") or "").encode())
    if size > limits.MESSAGE_MOST_BYTES:
        return TOO_LARGE
    return 0 if bucket.take(now_s) else TOO_MUCH
