"""The path of the rig between batches."""

import asyncio
import time

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from snapgloss.runs.rig_state import RigState, rig_state
from snapgloss.web.api.history import site_of
from snapgloss.web.api.plain import plain
from snapgloss.web.site import Site


async def rig(request: Request) -> Response:
    """GET /api/rig: what is known of the rig between batches."""
    site = site_of(request)
    found = await asyncio.to_thread(state_of, site)
    return JSONResponse({**plain(found), "is_learning": site.is_learning})


async def proving(request: Request) -> Response:
    """GET /api/proving: where the steps of commissioning stand."""
    return JSONResponse(plain(site_of(request).session.question))


def state_of(site: Site) -> RigState:
    """What is known of the rig of this page."""
    link = site.session.link
    there = None if link is None else link.identity
    now_utc_ms = time.time_ns() // 1_000_000
    return rig_state(site.store, site.folder, site.session.rig, there, now_utc_ms)
