"""What every answer carries: no outside origin, no framing, nothing guessed, nothing kept.

Pages with forms alone have `unsafe-eval`: NiceGUI compiles their templates in the browser, and
without it the browser refuses them and no form is there (tried with 3.18). In its place stands
that no text of a person comes to a compiler: names go into templates of ours that escape them and
into NiceGUI as data; inline scripts run only with the nonce of their answer, so markup that got
into a page runs nothing; and scripts come from here alone.
"""

from collections.abc import Iterable

Header = tuple[bytes, bytes]

POLICY = (
    "default-src 'self'; script-src 'self' 'nonce-{nonce}'{more}; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
    "connect-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'"
)
FORMS_NEED = " 'unsafe-eval'"
FIXED: tuple[Header, ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(self), geolocation=(), microphone=(), usb=(), serial=()"),
)
OURS = frozenset(name for name, _ in FIXED) | {b"content-security-policy", b"server"}
KEPT = (b"/_nicegui/", b"/assets/")
"""Paths with a version in them, whose files a browser may keep."""


def secured(
    headers: Iterable[Header], nonce: str, path: str, has_forms: bool = False
) -> list[Header]:
    """Return the headers of an answer with ours in place, and none that opens it to others.

    Only a page with forms may make code of text.
    """
    found = [
        (name.lower(), value)
        for name, value in headers
        if name.lower() not in OURS and not name.lower().startswith(b"access-control-")
    ]
    if not path.encode("utf-8", "replace").startswith(KEPT):
        found = [row for row in found if row[0] != b"cache-control"]
        found.append((b"cache-control", b"no-store"))
    policy = POLICY.format(nonce=nonce, more=FORMS_NEED if has_forms else "").encode()
    return [*found, *FIXED, (b"content-security-policy", policy)]
