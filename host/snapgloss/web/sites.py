"""The rigs of one server, each with a site of its own, and which of them a request means.

With one rig its pages stand at the top. With several each has its own below `/at/KEY/`, so that an
address says whose page it is and no page can mean another rig; at the top is the wall of all.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

from starlette.types import ASGIApp, Receive, Scope, Send

from snapgloss.base.errors import InputError, LinkError, SnapglossError
from snapgloss.web.desk import Who
from snapgloss.web.hub import Hub
from snapgloss.web.site import Site
from snapgloss.web.words import PROBLEMS

AT = "/at/"
WALL = "/wall"
MEANT = "snapgloss_rig"
"""Where a scope says which rig is meant, by its key."""


class Sites:
    """All rigs by their key, in the order in which they are shown; at least one."""

    def __init__(self, sites: Sequence[Site]) -> None:
        self._by_key = {site.key: site for site in sites}
        self.all = list(sites)
        self.wall = Hub(*(site.session.feed for site in sites))
        # Off has threads of its own: it must not wait behind anything.
        self.off_threads = ThreadPoolExecutor(max(4, len(sites) + 2), "off")

    @property
    def are_many(self) -> bool:
        """True when a request has to say which rig it means."""
        return len(self.all) > 1

    def of(self, scope: Scope) -> Site:
        """Return the site that a request means. Raises InputError when it does not say."""
        found = self.meant(scope)
        if found is None:
            raise InputError(PROBLEMS["which"], PROBLEMS["which_do"])
        return found

    def meant(self, scope: Scope) -> Site | None:
        """Return the site that a request means, None when it does not say which."""
        if not self.are_many:
            return self.all[0]
        return self._by_key.get(str(scope.get(MEANT, "")))

    def off(self, who: Who) -> str:
        """Turn every rig off at once; return what came of each.

        Raises LinkError when one of them was not reached; the others are off all the same.
        """
        offs = [
            self.off_threads.submit(site.desk.do, who, "off", site.session.off, needs_lead=False)
            for site in self.all
        ]
        said, failed = [], False
        for site, one in zip(self.all, offs, strict=True):
            try:
                said.append(f"{site.name}: {one.result()}")
            except SnapglossError as fault:
                failed = True
                said.append(f"{site.name}: {fault}")
        if failed:
            raise LinkError(" ".join(said), "")
        return " ".join(said)

    def end(self) -> None:
        """Let every page go, for the server ends; from the loop's own thread."""
        for hub in (self.wall, *(site.hub for site in self.all)):
            hub.end()


class Fork:
    """Wraps the whole app: takes the rig out of an address, so that all behind it sees the same
    paths whatever the number of rigs."""

    def __init__(self, app: ASGIApp, keys: Sequence[str]) -> None:
        self._app, self._keys = app, frozenset(keys)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one scope."""
        if scope["type"] == "http" and len(self._keys) > 1:
            scope = self._meant(scope)
        await self._app(scope, receive, send)

    def _meant(self, scope: Scope) -> Scope:
        path = str(scope["path"])
        if path == "/":
            return {**scope, "path": WALL, "raw_path": WALL.encode()}
        key, slash, rest = path.removeprefix(AT).partition("/")
        if not (path.startswith(AT) and slash and key in self._keys):
            return scope
        return {**scope, "path": f"/{rest}", "raw_path": f"/{rest}".encode(), MEANT: key}
