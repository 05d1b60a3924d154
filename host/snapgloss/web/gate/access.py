"""The key of a page that is open to the local network: a random token, and the cookie for it.

The token has 256 bits of the system's random source and lies in the data folder, readable by its
owner alone. A browser never gets it into a script: it is posted once, and a cookie that stands
for it comes back.
"""

import hashlib
import hmac
import secrets
from pathlib import Path

from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import shown_path
from snapgloss.web.gate.ask import Ask

COOKIE = "snapgloss_key"
COOKIE_DAYS = 180
TOKEN_BYTES = 32
TOKEN_FILE = "page-key"
LEAST_CHARS = 22  # 128 bits as base64


class Access:
    """Knows the token; tells who has it."""

    def __init__(self, token: str) -> None:
        if len(token) < LEAST_CHARS:
            raise ValueError("the token has fewer than 128 bits")
        self.token = token
        self._cookie = hmac.new(token.encode(), b"cookie 1", hashlib.sha256).hexdigest()

    def matches(self, token: str) -> bool:
        """Compare in a time that says nothing."""
        return hmac.compare_digest(token.encode("utf-8", "replace"), self.token.encode())

    def has_key(self, ask: Ask) -> bool:
        """True for the cookie, or for the token itself in the header of a program."""
        sent = ask.cookies.get(COOKIE, "").encode("utf-8", "replace")
        return hmac.compare_digest(sent, self._cookie.encode()) or self.matches(ask.bearer)

    @property
    def set_cookie(self) -> str:
        """The header that gives a browser its cookie."""
        age_s = COOKIE_DAYS * 86_400
        return f"{COOKIE}={self._cookie}; Path=/; Max-Age={age_s}; HttpOnly; SameSite=Strict"


def access_in(folder: Path, anew: bool = False) -> Access:
    """Return the access of a data folder, its token made when there is none, or `anew`.

    Raises StoreError when the file cannot be kept.
    """
    path = folder / TOKEN_FILE
    try:
        kept = "" if anew or not path.exists() else path.read_text(encoding="ascii").strip()
        if len(kept) < LEAST_CHARS:
            kept = secrets.token_urlsafe(TOKEN_BYTES)
            _keep(path, kept)
    except (OSError, ValueError) as problem:
        raise StoreError(
            f"The key of the page cannot be kept in {shown_path(path)}.",
            "Remove that file, or name another data folder.",
        ) from problem
    return Access(kept)


def _keep(path: Path, token: str) -> None:
    path.unlink(missing_ok=True)
    path.touch(mode=0o600)
    path.write_text(token + "\n", encoding="ascii")
