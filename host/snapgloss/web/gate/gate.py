"""The raw ASGI wrapper round everything, sockets included. What it lets through is checked.

Off is special: it is never refused for asking too often, and on this computer itself it needs no
key, for nothing about off can do harm.
"""

import json
import secrets
from collections.abc import Collection, Mapping
from typing import NamedTuple

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.web.gate import entrance, limits
from snapgloss.web.gate.access import Access
from snapgloss.web.gate.ask import Ask, ask_of
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.body import BodyRefused, replayed, whole_body
from snapgloss.web.gate.doors import Doors, is_loopback
from snapgloss.web.gate.headers import Header, secured
from snapgloss.web.gate.sockets import Sockets
from snapgloss.web.words import ENTRANCE, REFUSALS

OFF_PATH = "/api/off"
METHODS = ("GET", "HEAD", "POST")
OPEN_PATHS = "/assets/"
SAME = "same-origin"
FOREIGN = ("cross-site", "same-site")


class Rules(NamedTuple):
    """`access` None: this computer alone. `large` holds the most bytes of bodies by the begin of
    their path, where the usual limit is too small, such as for photos; `forms` are the paths of
    pages with forms, whose policy is wider."""

    doors: Doors
    access: Access | None = None
    large: Mapping[str, int] = {}
    forms: Collection[str] = ()


class Gate:
    """Wraps an app. `clock` is for tests."""

    def __init__(
        self, app: ASGIApp, rules: Rules, audit: Audit, clock: Clock | None = None
    ) -> None:
        self._app, self._rules, self._audit = app, rules, audit
        clock = clock or SystemClock()
        self._requests = limits.Rates(limits.REQUESTS, clock)
        self._commands = limits.Rates(limits.COMMANDS, clock)
        self._failures = limits.Rates(limits.FAILURES, clock)
        self._sockets = Sockets(app, clock)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one scope."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._websocket(scope, receive, send)
        else:
            await self._http(scope, receive, send)

    async def _websocket(self, scope: Scope, receive: Receive, send: Send) -> None:
        ask = ask_of(scope)
        status = self._refusal(ask)
        if status:
            self._note(ask, status)
            await send({"type": "websocket.close", "code": 1008})
            return
        await self._sockets.serve(scope, receive, send)

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        ask, nonce = ask_of(scope), secrets.token_urlsafe(16)
        scope["snapgloss_nonce"] = nonce
        answer = Answer(send, nonce, ask.path, ask.path in self._rules.forms)
        status = self._refusal(ask)
        if status:
            await self._refuse(ask, status, answer)
        elif ask.method == "POST":
            await self._post(ask, scope, receive, answer)
        elif self._rules.access is not None and ask.path.startswith(entrance.PATH):
            await answer.page(200, entrance.page_of(ask.path))
        else:
            await self._app(scope, receive, answer.send)

    async def _post(self, ask: Ask, scope: Scope, receive: Receive, answer: "Answer") -> None:
        most_bytes = self._most_bytes(ask.path)
        if ask.length > most_bytes:  # said beforehand: nothing of it is read
            await self._refuse(ask, 413, answer)
            return
        try:
            body = await whole_body(receive, most_bytes, limits.body_within_s(most_bytes))
        except BodyRefused as refused:
            await self._refuse(ask, refused.status, answer)
            return
        if self._rules.access is not None and ask.path == entrance.PATH:
            await self._enter(ask, body, answer, self._rules.access)
        else:
            await self._app(scope, replayed(body, receive), answer.send)

    async def _enter(self, ask: Ask, body: bytes, answer: "Answer", access: Access) -> None:
        if not access.matches(entrance.key_in_form(body)):
            await self._refuse(ask, self._wrong_key(ask), answer)
            return
        self._audit.add(ask.peer, "enter", "let in")
        headers = [(b"location", b"/"), (b"set-cookie", access.set_cookie.encode())]
        await answer.page(303, "", headers)

    def _refusal(self, ask: Ask) -> int:
        """The status to refuse with; 0 for none."""
        if not ask.is_clear:
            return 400
        if ask.host not in self._rules.doors.hosts:
            return 403
        if ask.method not in METHODS:
            return 405
        if self._is_foreign(ask):
            return 403
        if ask.path != OFF_PATH and not self._is_in_rate(ask):
            return 429
        return self._key_refusal(ask)

    def _is_foreign(self, ask: Ask) -> bool:
        """Another site's doing, or nobody can tell whose.

        What changes something must say that it comes from here: by its origin, or by what the
        browser says of its site; a program that has the key needs neither.
        """
        if ask.origin and ask.origin not in self._rules.doors.origins:
            return True
        if ask.kind == "websocket":
            return not ask.origin or ask.site in FOREIGN
        if ask.method == "POST":
            told = ask.origin or ask.site
            return ask.site not in ("", SAME) or not (told or self._has_key(ask))
        return ask.site == "cross-site" and ask.path.startswith("/api/")

    def _is_in_rate(self, ask: Ask) -> bool:
        if not self._requests.take(ask.peer):
            return False
        is_command = ask.method == "POST" and not ask.path.startswith("/_nicegui")
        return not is_command or self._commands.take(ask.peer)

    def _key_refusal(self, ask: Ask) -> int:
        if self._rules.access is None or ask.path.startswith(OPEN_PATHS):
            return 0
        if ask.path == OFF_PATH and ask.method == "POST" and is_loopback(ask.peer):
            return 0
        if self._has_key(ask):  # before all: nobody else's guesses may shut out who has it
            return 0
        if ask.path == entrance.PATH or ask.path.startswith(entrance.PATH + "/"):
            return 0  # a button, or a key that is looked at once it has been read
        # An old cookie is no guess: a page that was left open asks again and again with it.
        return self._wrong_key(ask) if ask.bearer else 401

    def _wrong_key(self, ask: Ask) -> int:
        return 401 if self._failures.take(ask.peer) else 429

    def _has_key(self, ask: Ask) -> bool:
        return self._rules.access is not None and self._rules.access.has_key(ask)

    def _most_bytes(self, path: str) -> int:
        large = self._rules.large.items()
        return next((n for begin, n in large if path.startswith(begin)), limits.BODY_MOST_BYTES)

    async def _refuse(self, ask: Ask, status: int, answer: "Answer") -> None:
        self._note(ask, status)
        words = ENTRANCE["scan"] if status == 401 else REFUSALS[status]
        if ask.path.startswith("/api/"):
            await answer.data(status, {"error": words, "remedy": ""})
        else:
            await answer.page(status, entrance.refused_page(words))

    def _note(self, ask: Ask, status: int) -> None:
        self._audit.add(ask.peer, f"{ask.method} {ask.path}", f"refused {status}")


class Answer:
    """Sends an answer with our headers."""

    def __init__(self, send: Send, nonce: str, path: str, has_forms: bool = False) -> None:
        self._send, self._nonce, self._path, self._has_forms = send, nonce, path, has_forms

    async def send(self, message: Message) -> None:
        """Send a message of the app."""
        if message["type"] == "http.response.start":
            headers = secured(message.get("headers", ()), self._nonce, self._path, self._has_forms)
            message = {**message, "headers": headers}
        await self._send(message)

    async def page(self, status: int, html: str, headers: list[Header] | None = None) -> None:
        """Send a page of our own."""
        await self._whole(status, b"text/html; charset=utf-8", html.encode(), headers or [])

    async def data(self, status: int, data: dict[str, str]) -> None:
        """Send JSON of our own."""
        await self._whole(status, b"application/json", json.dumps(data).encode(), [])

    async def _whole(self, status: int, kind: bytes, body: bytes, headers: list[Header]) -> None:
        length = str(len(body)).encode()
        own = [(b"content-type", kind), (b"content-length", length), *headers]
        if status in (401, 408, 413):
            own.append((b"connection", b"close"))
        await self.send({"type": "http.response.start", "status": status, "headers": own})
        await self._send({"type": "http.response.body", "body": body})
