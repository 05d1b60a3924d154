"""The page as one ASGI app: API, assets and NiceGUI's pages, all behind the gate."""

import asyncio

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp

from snapgloss.web.api.routes import api
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.gate import Gate, Rules
from snapgloss.web.nonce import Nonce
from snapgloss.web.pages.registry import register
from snapgloss.web.site import Site
from snapgloss.web.static import ASSETS, PREFIX
from snapgloss.web.words import LANGUAGE

ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" '
    'rx="7" fill="#6b2f1a"/><path d="M6 21c5-13 8 6 20-10" fill="none" stroke="#fffdfa" '
    'stroke-width="4" stroke-linecap="round"/></svg>'
)
SOCKET_ONLY = ["websocket"]


def build(site: Site, rules: Rules, audit: Audit) -> ASGIApp:
    """Return the whole app. NiceGUI keeps its pages in one place, so there is one at a time."""
    inner = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    inner.mount("/api", api(site))
    inner.mount(PREFIX, ASSETS)
    _add_pages(inner, site)
    return Gate(GZipMiddleware(Nonce(inner), minimum_size=600, compresslevel=5), rules, audit)


def _add_pages(inner: FastAPI, site: Site) -> None:
    from nicegui import app, ui

    register(site)
    app.on_startup(lambda: site.hub.attach(asyncio.get_running_loop()))
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
