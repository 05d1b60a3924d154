"""The paths of the API. To look is GET; what changes something is POST, and only POST."""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import asdict
from typing import Any

from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from snapgloss.base.errors import InputError, LinkError, RigError, SnapglossError, StoreError
from snapgloss.runs.listing import list_runs, show_run
from snapgloss.web.api import actions, history, rig, stream, wall
from snapgloss.web.api.plain import plain
from snapgloss.web.api.schema import COMMANDS, Body, schemas
from snapgloss.web.api.strict_json import read_object
from snapgloss.web.desk import Who
from snapgloss.web.sites import Sites
from snapgloss.web.words import PROBLEMS, REFUSALS

STATUS: tuple[tuple[type[SnapglossError], int], ...] = (
    (InputError, 400), (RigError, 409), (LinkError, 503), (StoreError, 500),
)  # fmt: skip
PAGE_HEADER = "x-snapgloss-page"
PAGE_MOST = 12

Handler = Callable[[Request], Awaitable[Response]]


def api(sites: Sites) -> Starlette:
    """Return the API as an app to be mounted at /api."""
    looks: dict[str, Handler] = {
        "/state": _state, "/readings": _readings, "/live": _live, "/batches": _batches,
        "/batches/{run:int}": _batch, "/schema": _schema, "/rig": rig.rig,
        "/proving": rig.proving, "/wall": wall.wall, "/wall/live": wall.live,
        **history.LOOKS,
    }  # fmt: skip
    routes = [Route(path, look, methods=["GET"]) for path, look in looks.items()]
    routes += [Route(f"/{name}", _command(name), methods=["POST"]) for name in COMMANDS]
    handlers: dict[Any, Any] = {
        SnapglossError: _problem, 404: _unknown, 405: _unknown, Exception: _fault,
    }  # fmt: skip
    app = Starlette(routes=routes, exception_handlers=handlers)
    app.state.sites = sites
    return app


def page_of(request: Request) -> str:
    """The page that asks, as it names itself; only for the audit and the lead."""
    named = request.headers.get(PAGE_HEADER) or request.query_params.get("page", "")
    return "".join(c for c in named if c.isalnum())[:PAGE_MOST]


def who_of(request: Request) -> Who:
    """Who sends a request."""
    return Who(request.client.host if request.client else "", page_of(request))


async def _state(request: Request) -> Response:
    site = history.site_of(request)
    piece = site.hub.feed.since("", 0)._replace(points=())
    return JSONResponse(stream.message(site, page_of(request), piece, "", -1))


async def _readings(request: Request) -> Response:
    site, asked = history.site_of(request), request.query_params
    piece = site.hub.feed.since(asked.get("epoch", ""), history.number(asked.get("since", "0")))
    epoch = piece.epoch if piece.first else ""
    return JSONResponse(stream.message(site, page_of(request), piece, epoch, -1))


async def _live(request: Request) -> Response:
    events = stream.events(history.site_of(request), page_of(request))
    return StreamingResponse(events, media_type="text/event-stream")


async def _batches(request: Request) -> Response:
    found = await asyncio.to_thread(list_runs, history.site_of(request).store)
    return JSONResponse({"batches": [asdict(run) for run in found]})


async def _batch(request: Request) -> Response:
    details = await asyncio.to_thread(
        show_run, history.site_of(request).store, history.run_of(request)
    )
    return JSONResponse(plain(details))


async def _schema(_request: Request) -> Response:
    return JSONResponse(schemas())


def _command(name: str) -> Handler:
    async def handle(request: Request) -> Response:
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/json":
            return _said(415, REFUSALS[415], "")
        body = _body(COMMANDS[name], await request.body())
        who, sites = who_of(request), request.app.state.sites
        if name == "off" and sites.meant(request.scope) is None:
            said = await asyncio.to_thread(sites.off, who)
            return JSONResponse({"words": said})
        site = sites.of(request.scope)
        threads = sites.off_threads if name == "off" else None
        loop = asyncio.get_running_loop()
        said = await loop.run_in_executor(threads, actions.ACTIONS[name], site, who, body)
        site.hub.wake_all()
        return JSONResponse({"words": said})

    return handle


def _body(model: type[Body], body: bytes) -> Body:
    try:
        return model.model_validate(read_object(body))
    except ValidationError as fault:
        names = sorted({".".join(map(str, one["loc"])) or "body" for one in fault.errors()})
        raise InputError(PROBLEMS["fields"].format(fields=", ".join(names)), "") from None


def _said(status: int, error: str, remedy: str) -> JSONResponse:
    return JSONResponse({"error": error, "remedy": remedy}, status)


async def _problem(_request: Request, fault: Exception) -> Response:
    assert isinstance(fault, SnapglossError)
    status = next((code for kind, code in STATUS if isinstance(fault, kind)), 500)
    return _said(status, fault.message, fault.remedy)


async def _unknown(_request: Request, fault: Exception) -> Response:
    status = int(getattr(fault, "status_code", 404))
    answer = _said(status, REFUSALS.get(status, REFUSALS[404]), "")
    answer.headers.update(getattr(fault, "headers", None) or {})
    return answer


async def _fault(_request: Request, _problem: Exception) -> Response:
    return _said(500, PROBLEMS["fault"], "")
