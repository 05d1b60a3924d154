"""Gives the scripts of our own pages the nonce of their answer; no other inline script runs."""

import re

from starlette.types import ASGIApp, Message, Receive, Scope, Send

SCRIPT = re.compile(rb"<script(?=[\s>])")


class Nonce:
    """Wraps an app. Only HTML answers are touched; the gate has put the nonce in the scope."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one scope."""
        nonce = scope.get("snapgloss_nonce")
        if scope["type"] != "http" or not nonce:
            await self._app(scope, receive, send)
            return
        await self._app(scope, receive, _Marking(send, nonce).send)


class _Marking:
    def __init__(self, send: Send, nonce: str) -> None:
        self._send = send
        self._tag = b'<script nonce="' + nonce.encode() + b'"'
        self._start: Message | None = None
        self._body = b""

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            if not _is_html(message):
                await self._send(message)
                return
            self._start = message
        elif self._start is None:
            await self._send(message)
        else:
            self._body += message.get("body", b"")
            if not message.get("more_body", False):
                await self._send_marked(self._start)

    async def _send_marked(self, start: Message) -> None:
        body = SCRIPT.sub(self._tag, self._body)
        headers = [row for row in start["headers"] if row[0].lower() != b"content-length"]
        headers.append((b"content-length", str(len(body)).encode()))
        await self._send({**start, "headers": headers})
        await self._send({"type": "http.response.body", "body": body})


def _is_html(message: Message) -> bool:
    kinds = [
        value for name, value in message.get("headers", ()) if name.lower() == b"content-type"
    ]
    return any(kind.startswith(b"text/html") for kind in kinds)
