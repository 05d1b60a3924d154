"""A site on a scripted rig, a gate round it, and a way to ask it without a network."""

import asyncio
import json
import sys
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest

from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.connect import introduce
from snapgloss.runs.live.session import Session
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.desk import Desk
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.doors import Doors
from snapgloss.web.gate.gate import Gate, Rules
from snapgloss.web.hub import Hub
from snapgloss.web.site import Site
from snapgloss.web.sites import Sites

if TYPE_CHECKING:
    from nicegui.testing import User

HOST = "127.0.0.1:8750"
ORIGIN = f"http://{HOST}"
OURS = {"host": HOST, "origin": ORIGIN, "sec-fetch-site": "same-origin"}


class HandClock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.at_s = 1000.0

    def now_s(self) -> float:
        return self.at_s


class Got(NamedTuple):
    """An answer."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def data(self) -> Any:
        return json.loads(self.body)


class Asker:
    """Asks an ASGI app as one browser would, from one address."""

    def __init__(self, app: Any, peer: str = "127.0.0.1") -> None:
        self.app, self.peer = app, peer

    def __call__(
        self, method: str, path: str, body: bytes | Callable[[], Any] = b"",
        headers: dict[str, str] | None = None, **more: str,
    ) -> Got:  # fmt: skip
        sent = {**(OURS if headers is None else headers), **more}
        return asyncio.run(self._ask(method, path, body, sent))

    def command(self, name: str, body: Any = None, **more: str) -> Got:
        """POST a command as our own page does."""
        kind = {"content-type": "application/json"}
        text = json.dumps(body if body is not None else {}).encode()
        return self("POST", f"/api/{name}", text, **kind, **more)

    async def _ask(self, method: str, path: str, body: Any, headers: dict[str, str]) -> Got:
        raw, _, query = path.partition("?")
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
            "path": raw, "raw_path": raw.encode(), "query_string": query.encode(), "root_path": "",
            "scheme": "http", "server": ("127.0.0.1", 8750), "client": (self.peer, 50000),
            "headers": [(k.replace("_", "-").encode(), v.encode()) for k, v in headers.items()],
        }  # fmt: skip
        sent: list[dict[str, Any]] = []
        waiting = [{"type": "http.request", "body": body, "more_body": False}]

        async def receive() -> Any:
            if callable(body):
                return await body()
            return waiting.pop() if waiting else {"type": "http.disconnect"}

        async def send(message: Any) -> None:
            sent.append(message)

        await self.app(scope, receive, send)
        found = {name.decode(): value.decode() for name, value in sent[0].get("headers", ())}
        return Got(sent[0]["status"], found, b"".join(m.get("body", b"") for m in sent[1:]))


def visit(site: Site, steps: Callable[["User"], Awaitable[None]], path: str = "/") -> None:
    """Open a page as a user of NiceGUI's own simulation, in this process, and do something there.

    The simulation forgets the modules of pages when it ends; other tests still need them.
    """
    from nicegui.testing import user_simulation

    from snapgloss.web.pages.registry import register

    async def all_of_it() -> None:
        async with user_simulation(root=lambda: None) as user:
            register(Sites([site]))
            await user.open(path)
            await steps(user)

    ours = {name: module for name, module in sys.modules.items() if name.startswith("snapgloss")}
    try:
        asyncio.run(all_of_it())
    finally:
        sys.modules.update(ours)


@pytest.fixture
def clock() -> HandClock:
    """Time of gate and desk."""
    return HandClock()


@pytest.fixture
def rig() -> ScriptedRig:
    """A rig of our own."""
    return ScriptedRig()


@pytest.fixture
def link(rig: ScriptedRig) -> Iterator[RigLink]:
    """A link that has said hello."""
    link = introduce(rig, ScriptedClock(rig))
    yield link
    link.close()


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A record that the tests of one file share; it begins empty."""
    with open_store(tmp_path_factory.mktemp("record")) as store:
        yield store


@pytest.fixture
def audit(tmp_path: Path) -> Audit:
    """An audit at a fixed moment."""
    return Audit(tmp_path, lambda: 1_800_000_000.0)


@pytest.fixture
def site(store: Store, tmp_path: Path, link: RigLink, audit: Audit, clock: HandClock) -> Site:
    """A site whose session does not run: the rig is there, nothing is tempered."""
    session = Session(store, tmp_path, BENCH_RIG, lambda: "", clock=clock)
    session.link = link
    session.feed.tell(replace(session.feed.moment, is_there=True, state="off"), (), True)
    return Site(session, store, tmp_path, Desk(audit, clock), Hub(session.feed))


@pytest.fixture
def rules() -> Rules:
    """For this computer alone."""
    return Rules(Doors(["127.0.0.1", "localhost"], 8750))


@pytest.fixture
def ask(site: Site, rules: Rules, audit: Audit, clock: HandClock) -> Asker:
    """Asks the API through the gate."""
    from starlette.applications import Starlette
    from starlette.routing import Mount

    from snapgloss.web.api.routes import api
    from snapgloss.web.pages.registry import routes
    from snapgloss.web.static import ASSETS, PREFIX

    inner = Starlette(
        routes=[Mount("/api", api(Sites([site]))), Mount(PREFIX, ASSETS), *routes(Sites([site]))]
    )
    return Asker(Gate(inner, rules, audit, clock))


@pytest.fixture
def lines(tmp_path: Path) -> Callable[[], list[str]]:
    """The lines of the audit."""
    from snapgloss.web.gate.audit import FILE_NAME

    path = tmp_path / FILE_NAME
    return lambda: path.read_text(encoding="utf-8").splitlines() if path.exists() else []
