"""The paths of the record: search, one batch's curve, batches side by side, exports, reports."""

import asyncio
from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from snapgloss.base.errors import InputError
from snapgloss.runs.searching import MOST, Wanted, search
from snapgloss.web.api.plain import plain
from snapgloss.web.site import Site
from snapgloss.web.sites import Sites
from snapgloss.web.words import REFUSALS

if TYPE_CHECKING:
    from snapgloss.store.store import Store

RUN_MOST = 2**31 - 1
WORDS_MOST = 100
REPORT_KINDS = {"html": "text/html; charset=utf-8", "pdf": "application/pdf", "png": "image/png"}
EXPORT_KINDS = {"json": "application/json", "csv": "text/csv; charset=utf-8",
                "parquet": "application/vnd.apache.parquet"}  # fmt: skip


async def found(request: Request) -> Response:
    """GET /api/history: a page of the batches that are sought."""
    asked = request.query_params
    wanted = Wanted(
        asked.get("words", "")[:WORDS_MOST], asked.get("chocolate", ""), asked.get("result", ""),
        _day(asked.get("since", "")), _day(asked.get("until", "")),
    )  # fmt: skip
    first, most = number(asked.get("first", "0")), number(asked.get("most", "60"))
    store = site_of(request).store
    page = await asyncio.to_thread(search, store, wanted, first, min(max(1, most), MOST))
    return JSONResponse(plain(page))


async def curve(request: Request) -> Response:
    """GET /api/batches/N/curve?width=W: the curve for so many pixels, with its marks."""
    width = number(request.query_params.get("width", "900"))
    store, run_id = site_of(request).store, run_of(request)
    return JSONResponse(await asyncio.to_thread(_curve, store, run_id, width))


def _curve(store: "Store", run_id: int, width: int) -> dict[str, Any]:
    from snapgloss.report.marks import marks_of
    from snapgloss.runs.curve_view import curve_view

    view = curve_view(store, run_id, width)
    marks = marks_of(store.events(run_id), view.zero_ms)
    return {**vars(view), "steps": plain(view.steps), "marks": plain(marks)}


async def side_by_side(request: Request) -> Response:
    """GET /api/beside?runs=1,2&at=cool: strips of deviation."""
    from snapgloss.runs.beside import beside

    asked = request.query_params
    run_ids = [number(one) for one in asked.get("runs", "").split(",")]
    align = asked.get("at", "") or "cooling"
    found = await asyncio.to_thread(beside, site_of(request).store, run_ids, align)
    return JSONResponse(plain(found))


async def report(request: Request) -> Response:
    """GET /api/batches/N/report.KIND: a report that was made, by POST /api/report or at the end
    of its batch."""
    kind = request.path_params["kind"]
    path = site_of(request).folder / "reports" / f"run-{run_of(request)}.{kind}"
    if kind not in REPORT_KINDS or not path.is_file():
        raise InputError(REFUSALS[404], "")
    return Response(await asyncio.to_thread(path.read_bytes), media_type=REPORT_KINDS[kind])


async def photo(request: Request) -> Response:
    """GET /api/batches/N/photos/K: one photo of its bars, from 1."""
    from snapgloss.runs import grading, photos

    site, run, number = site_of(request), run_of(request), int(request.path_params["photo"])

    def found() -> tuple[bytes, str]:
        names = grading.bars_summary(site.store, run).photos
        return photos.photo_kept(names, number, site.folder)

    content, kind = await asyncio.to_thread(found)
    return Response(content, media_type=kind)


async def window(request: Request) -> Response:
    """GET /api/window.png?chocolate=NAME&rig=NAME: the map of its window."""
    from snapgloss.web.heavy import window_picture_of

    site, asked = site_of(request), request.query_params
    named = [asked.get(name, "")[:WORDS_MOST] for name in ("chocolate", "rig")]

    def drawn() -> bytes:
        return site.heavily(window_picture_of, site.store.address, *named)

    return Response(await asyncio.to_thread(drawn), media_type="image/png")


async def line_card(request: Request) -> Response:
    """GET /api/line-card.pdf?paper=A4: the card whose picture in a bar tells how it shines."""
    from snapgloss.report.line_card import PAPERS_MM, line_card_pdf

    paper = request.query_params.get("paper", "A4")
    if paper not in PAPERS_MM:
        raise InputError(REFUSALS[404], "")
    content = await asyncio.to_thread(line_card_pdf, paper)
    return Response(content, media_type=REPORT_KINDS["pdf"])


class Export(NamedTuple):
    """What to export: run 0 is the list of all."""

    run: int
    kind: str

    @property
    def name(self) -> str:
        """The file's name."""
        return f"{f'run-{self.run}' if self.run else 'batches'}.{self.kind}"


async def export(request: Request) -> Response:
    """GET /api/batches/N/export.KIND and /api/export.KIND: the record for another program."""
    run = run_of(request) if "run" in request.path_params else 0
    wanted = Export(run, request.path_params["kind"])
    if wanted.kind not in EXPORT_KINDS:
        raise InputError(REFUSALS[404], "")
    body = await asyncio.to_thread(_exported, site_of(request), wanted)
    headers = {"content-disposition": f'attachment; filename="{wanted.name}"'}
    return Response(body, media_type=EXPORT_KINDS[wanted.kind], headers=headers)


def _exported(site: Site, wanted: Export) -> bytes:
    from snapgloss.report import export as exports

    if wanted.kind == "parquet":
        return site.heavily(parquet_of, site.store.address, wanted.run)
    if wanted.kind == "json" and wanted.run:
        return exports.json_text(exports.run_document(site.store, wanted.run)).encode()
    table = _table(site.store, wanted.run)
    text = exports.json_text if wanted.kind == "json" else exports.csv_text
    return text(table).encode()


def _table(store: "Store", run: int) -> Any:
    from snapgloss.report import export as exports

    return exports.readings_table(store, run) if run else exports.runs_table(store)


def parquet_of(address: Any, run: int) -> bytes:
    """The table as Parquet, made in a process of its own. Raises InputError without the extra."""
    import tempfile
    from pathlib import Path

    from snapgloss.report.export import write_parquet
    from snapgloss.store import open_store

    with tempfile.TemporaryDirectory() as folder, open_store(address, to_read=True) as store:
        path = Path(folder) / "table.parquet"
        write_parquet(path, _table(store, run))
        return path.read_bytes()


def run_of(request: Request) -> int:
    """The number in the path. Raises InputError for one that no record has."""
    return run_number(str(request.path_params["run"]))


def run_number(text: str) -> int:
    """A batch's number from outside. Raises InputError for one that no record has."""
    run = int(text) if text.isascii() and text.isdigit() and len(text) < 11 else 0
    if not 0 < run <= RUN_MOST:
        raise InputError(REFUSALS[404], "")
    return run


def number(text: str) -> int:
    """A whole number as it may stand in an address; 0 for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError("This is no day.", "Write it as 2026-11-30.") from None


def site_of(request: Request) -> Site:
    """The site of the rig that is meant. Raises InputError where that is not said."""
    sites: Sites = request.app.state.sites
    return sites.of(request.scope)


LOOKS: dict[str, Callable[[Request], Any]] = {
    "/history": found,
    "/batches/{run:int}/curve": curve,
    "/batches/{run:int}/report.{kind}": report,
    "/batches/{run:int}/export.{kind}": export,
    "/batches/{run:int}/photos/{photo:int}": photo,
    "/line-card.pdf": line_card,
    "/export.{kind}": export,
    "/beside": side_by_side,
    "/window.png": window,
}
"""The paths of this module that only look."""
