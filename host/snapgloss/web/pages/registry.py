"""All pages of the site, in the order of the batch. A new one is a folder here and a row there."""

import asyncio
import importlib
from collections.abc import Callable
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from snapgloss.web.sites import WALL, Sites


class Page(NamedTuple):
    """`key` names it in words.PAGE_NAMES. With forms, `module` has `build(site)`, called for each
    visit by NiceGUI; without, `html(site, asked)` gives the whole page for what its address asks,
    and no code is made of text in the browser."""

    key: str
    path: str
    module: str
    has_forms: bool = True


PAGES: tuple[Page, ...] = (
    Page("live", "/", "snapgloss.web.pages.live.page"),
    Page("before", "/before", "snapgloss.web.pages.before.page"),
    Page("after", "/after", "snapgloss.web.pages.after.page"),
    Page("history", "/history", "snapgloss.web.pages.history.page", False),
    Page("rig", "/rig", "snapgloss.web.pages.rig.page", False),
)
"""The pages of one rig, each in the same folder of addresses: links between them are relative."""
FORMS = frozenset(page.path for page in PAGES if page.has_forms)


def register(sites: Sites) -> None:
    """Make NiceGUI answer the path of each page with forms."""
    from nicegui import ui

    for page in PAGES:
        if page.has_forms:
            ui.page(page.path, response_timeout=10.0)(_builder(page, sites))


def routes(sites: Sites) -> list[Route]:
    """Return what answers the paths of the pages without forms, and of the wall."""
    from snapgloss.web.pages.wall import page as wall

    async def all_rigs(_request: Request) -> Response:
        return HTMLResponse(await asyncio.to_thread(wall.html, sites))

    plain = [Route(page.path, _answer(page, sites)) for page in PAGES if not page.has_forms]
    return [*plain, Route(WALL, all_rigs)]


def _builder(page: Page, sites: Sites) -> Callable[[Request], Response | None]:
    build = importlib.import_module(page.module).build

    def show(request: Request) -> Response | None:
        site = sites.meant(request.scope)
        if site is None:
            return RedirectResponse("/", 303)
        build(site)
        return None

    return show


def _answer(page: Page, sites: Sites) -> Callable[[Request], "asyncio.Future[Response]"]:
    html = importlib.import_module(page.module).html

    async def answer(request: Request) -> Response:
        site = sites.meant(request.scope)
        if site is None:
            return RedirectResponse("/", 303)
        asked = dict(request.query_params)
        return HTMLResponse(await asyncio.to_thread(html, site, asked))

    return answer  # type: ignore[return-value]
