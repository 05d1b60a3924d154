"""The paths of all rigs at once: where each is, as data and as a stream."""

import asyncio
import json
import time
from collections.abc import AsyncIterator
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse

from snapgloss.base.fahrenheit import in_fahrenheit
from snapgloss.runs.live.moment import Moment
from snapgloss.web.api.stream import woken
from snapgloss.web.site import Site
from snapgloss.web.sites import AT, Sites

LEAST_S = 0.5  # between two messages: nobody reads twenty figures faster
SENTENCES = ("step_words", "now", "trouble")
CALLS = ("stopped", "locked")


async def wall(request: Request) -> Response:
    """GET /api/wall: where all rigs are."""
    return JSONResponse(message(request.app.state.sites))


async def live(request: Request) -> Response:
    """GET /api/wall/live: the same, each time that something changed."""
    return StreamingResponse(events(request.app.state.sites), media_type="text/event-stream")


async def events(sites: Sites) -> AsyncIterator[bytes]:
    """Give the events of one page until it goes away."""
    with sites.wall.watching() as wake:
        while not sites.wall.is_over:
            wake.clear()
            yield f"data: {json.dumps(message(sites), separators=(',', ':'))}\n\n".encode()
            await asyncio.sleep(LEAST_S)
            await woken(wake)


def message(sites: Sites) -> dict[str, Any]:
    """Return all rigs in the order in which they are shown. `age_s` is that of the message, 0;
    each rig has its own, -1 for one that was never heard."""
    rigs = [card(site) for site in sites.all]
    return {"rigs": rigs, "age_s": 0.0, "sent_ms": round(time.time() * 1000)}


def card(site: Site) -> dict[str, Any]:
    """Return what the wall shows of one rig. `calls`: it waits for a person."""
    moment = site.hub.feed.moment
    return {
        "key": site.key, "name": site.name, "path": f"{AT}{site.key}/",
        "is_there": moment.is_there, "simulated": moment.simulated, "state": moment.state,
        "product_mc": moment.product_mc, "step_no": moment.step_no, "steps": moment.steps,
        "batch_left_s": moment.batch_left_s, "share_done": moment.share_done,
        "calls": calls(moment), "age_s": round(site.hub.feed.age_s(), 3),
        **{name: getattr(moment, name) for name in SENTENCES},
        "fahrenheit": {name: in_fahrenheit(getattr(moment, name)) for name in SENTENCES
                       if "°C" in getattr(moment, name)},
    }  # fmt: skip


def calls(moment: Moment) -> bool:
    """True while a rig that answers waits for a person: a prompt, a press, a stop put right."""
    return moment.is_there and (moment.is_waiting or moment.state in CALLS)
