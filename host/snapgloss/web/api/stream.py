"""The live stream: server-sent events, each with the points that are new and the newest moment.

A page that is slow, or slept, gets all that it missed in one event. Nothing is queued for it.
"""

import asyncio
import json
import time
from collections.abc import AsyncIterator, Sequence
from typing import Any

from snapgloss.runs.live.feed import Piece, Point
from snapgloss.web.api.schema import state_data
from snapgloss.web.site import Site

LEAST_S = 0.1  # between two events of one page
ALIVE_S = 5.0  # without news: so that a page knows of a connection that is dead
POINTS_MOST = 1500


async def events(site: Site, page: str) -> AsyncIterator[bytes]:
    """Give the events of one page, from the beginning of the curve, until it goes away."""
    epoch, first, version = "", 0, -1
    with site.hub.watching() as wake:
        while not site.hub.is_over:
            wake.clear()
            piece = site.hub.feed.since(epoch, first)
            site.desk.is_seen(page)
            data = message(site, page, piece, epoch, version)
            epoch, first, version = piece.epoch, piece.next, piece.moment.ahead.version
            yield f"data: {json.dumps(data, separators=(',', ':'))}\n\n".encode()
            await asyncio.sleep(LEAST_S)
            await woken(wake)


async def woken(wake: asyncio.Event) -> None:
    """Wait until something changed; not so long that a page would take the line for dead."""
    try:
        async with asyncio.timeout(ALIVE_S):
            await wake.wait()
    except TimeoutError:
        return


def message(site: Site, page: str, piece: Piece, epoch: str, version: int) -> dict[str, Any]:
    """Return one event for a page that has an epoch and a version of the curve ahead."""
    state = state_data(piece.moment)
    is_anew = piece.epoch != epoch
    if piece.moment.ahead.version == version and not is_anew:
        del state["ahead"]["curve"]
    last = site.desk.last
    return {
        "epoch": piece.epoch,
        "next": piece.next,
        "anew": is_anew,
        "points": thinned(piece.points, POINTS_MOST),
        "state": state,
        "age_s": round(piece.age_s, 3),
        "sent_ms": round(time.time() * 1000),
        "lead": site.desk.leads(page),
        "pages": site.hub.pages,
        "last": last._asdict() if last else None,
    }


def thinned(points: Sequence[Point], most: int) -> Sequence[Point]:
    """Return at most so many points; of each stretch the lowest and the highest, in order."""
    if len(points) <= most:
        return points
    stretch = -(-len(points) * 2 // (most - 2))
    kept = [points[0]]
    for begin in range(0, len(points), stretch):
        part = points[begin : begin + stretch]
        low = min(part, key=_height)
        high = max(part, key=_height)
        kept += [low] if low is high else sorted((low, high))
    if kept[-1] != points[-1]:
        kept.append(points[-1])
    return kept


def _height(point: Point) -> int:
    return -(10**9) if point.product_mc is None else point.product_mc
