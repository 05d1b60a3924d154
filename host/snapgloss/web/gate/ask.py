"""What a request or a socket says of itself, read once from the ASGI scope."""

from http.cookies import CookieError, SimpleCookie
from typing import NamedTuple

from starlette.types import Scope


class Ask(NamedTuple):
    """One request or handshake. Texts are as sent, an absent header is empty.

    `peer` is the address it came from, `length` what it says of its body, 0 for nothing.
    `is_clear` is False when a header that matters here came twice: then nobody can say what it
    means.
    """

    kind: str  # "http" or "websocket"
    method: str
    path: str
    peer: str
    host: str
    origin: str
    site: str  # Sec-Fetch-Site
    bearer: str
    cookies: dict[str, str]
    length: int
    is_clear: bool


ONCE = (b"host", b"origin", b"sec-fetch-site", b"authorization", b"content-length")


def ask_of(scope: Scope) -> Ask:
    """Read a scope of type http or websocket."""
    headers: list[tuple[bytes, bytes]] = list(scope.get("headers", ()))
    names = [name for name, _ in headers]
    client = scope.get("client")
    return Ask(
        kind=str(scope["type"]),
        method=str(scope.get("method", "GET")).upper(),
        path=str(scope["path"]),
        peer=str(client[0]) if client else "",
        host=_text(headers, b"host").lower(),
        origin=_text(headers, b"origin").lower(),
        site=_text(headers, b"sec-fetch-site").lower(),
        bearer=_text(headers, b"authorization").removeprefix("Bearer ").strip(),
        cookies=_cookies(_text(headers, b"cookie")),
        length=_number(_text(headers, b"content-length")),
        is_clear=all(names.count(name) <= 1 for name in ONCE),
    )


def _text(headers: list[tuple[bytes, bytes]], wanted: bytes) -> str:
    return next((value.decode("latin-1") for name, value in headers if name == wanted), "")


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0


def _cookies(text: str) -> dict[str, str]:
    try:
        return {name: morsel.value for name, morsel in SimpleCookie(text).items()}
    except CookieError:
        return {}
