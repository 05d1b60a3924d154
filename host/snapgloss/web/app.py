"""The page as one ASGI app: API, assets and NiceGUI's pages, all behind the gate."""

import asyncio

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.types import ASGIApp

from snapgloss.web.api.routes import api
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.entrance import refused_page
from snapgloss.web.gate.gate import Gate, Rules
from snapgloss.web.nonce import Nonce
from snapgloss.web.pages.frame import ICON
from snapgloss.web.pages.registry import FORMS, register, routes
from snapgloss.web.sites import Fork, Sites
from snapgloss.web.static import ASSETS, PREFIX
from snapgloss.web.words import LANGUAGE, REFUSALS

SOCKET_ONLY = ["websocket"]


def build(sites: Sites, rules: Rules, audit: Audit) -> ASGIApp:
    """Return the whole app. NiceGUI keeps its pages in one place, so there is one at a time."""
    inner = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    inner.mount("/api", api(sites))
    inner.mount(PREFIX, ASSETS)
    inner.router.routes.extend(routes(sites))
    _add_pages(inner, sites)
    rules = rules._replace(forms=FORMS)
    gate = Gate(GZipMiddleware(Nonce(inner), minimum_size=600, compresslevel=5), rules, audit)
    return Fork(gate, [site.key for site in sites.all])


async def _nothing_here(_request: Request, _fault: Exception) -> Response:
    """In place of NiceGUI's own page, which would need its scripts."""
    return HTMLResponse(refused_page(REFUSALS[404]), 404)


def _add_pages(inner: FastAPI, sites: Sites) -> None:
    from nicegui import app, ui

    register(sites)
    app.add_exception_handler(404, _nothing_here)
    for hub in (sites.wall, *(site.hub for site in sites.all)):
        app.on_startup(lambda hub=hub: hub.attach(asyncio.get_running_loop()))
    app.config.socket_io_js_transports = SOCKET_ONLY  # type: ignore[assignment]
    ui.run_with(
        inner,
        title="snapgloss",
        favicon=ICON,
        language="en-US" if LANGUAGE == "en" else None,
        dark=False,
        tailwind=False,
        binding_refresh_interval=None,
        reconnect_timeout=20.0,
        message_history_length=100,
        gzip_middleware_factory=None,
        show_welcome_message=False,
    )
