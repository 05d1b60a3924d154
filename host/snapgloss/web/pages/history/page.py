"""The record: a list to search, one batch, or batches side by side, by what the address asks.

`/history` lists, `/history?batch=12` shows one, `/history?beside=12,14&at=cool` compares,
`/history?window=NAME&rig=NAME` says where a chocolate comes out right.
"""

from collections.abc import Mapping
from datetime import datetime
from importlib.resources import files
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlencode

from snapgloss.base.errors import InputError
from snapgloss.base.fahrenheit import in_fahrenheit as line_in_fahrenheit
from snapgloss.base.units import show_h_mm, show_mass, show_temperature
from snapgloss.runs.figure_lines import figure_lines
from snapgloss.runs.listing import RunDetails, in_fahrenheit, show_run
from snapgloss.web.api.history import WORDS_MOST, number, run_number
from snapgloss.web.pages.frame import new_name, render, whole
from snapgloss.web.pages.history import words
from snapgloss.web.site import Site

SHEETS = ("uplot.css", "record.css", "history.css")
CURVE_WIDTH = 1200  # pixels: as wide as the widest screen shows it
TABLE_KINDS = ("csv", "json", "parquet")


def html(site: Site, asked: Mapping[str, str]) -> str:
    """Return the page for one visit."""
    page = new_name()
    return whole(site, "history", page, SHEETS, _body(site, page, asked))


def _body(site: Site, page: str, asked: Mapping[str, str]) -> str:
    if "batch" in asked:
        return _batch(site, page, asked["batch"])
    if "beside" in asked:
        runs = [run for run in map(number, asked["beside"].split(",")) if run]
        at = asked.get("at", "") if asked.get("at") in words.STEPS else "cool"
        return _shown("beside", runs=",".join(map(str, runs)), at_step=at, steps=words.STEPS)
    if "window" in asked:
        return _window_page(site, asked["window"], asked.get("rig", ""))
    return _shown("history", results=words.RESULTS, kinds=kinds())


def kinds() -> tuple[str, ...]:
    """The kinds of table there are here; Parquet needs the extra."""
    return TABLE_KINDS if find_spec("duckdb") else TABLE_KINDS[:2]


def _shown(name: str, **values: Any) -> str:
    body = files("snapgloss.web.pages.history").joinpath(f"{name}.html")
    own = {**words.HISTORY, **words.BATCH, **words.BESIDE, "outcomes": words.OUTCOMES,
           "grades": words.GRADES}  # fmt: skip
    return render(
        body.read_text(encoding="utf-8"), own=own, history=words.HISTORY, batch=words.BATCH,
        beside=words.BESIDE, outcomes=words.OUTCOMES, **values,
    )  # fmt: skip


def _batch(site: Site, page: str, asked: str) -> str:
    try:
        found = show_run(site.store, run_number(asked))
        other = in_fahrenheit(site.store, found)
    except InputError:
        return _shown("gone", words=words.BATCH["gone"].format(run=asked[:12]))
    return _shown("batch", page=page, kinds=kinds(), **batch_values(found, other))


def _window_page(site: Site, chocolate: str, rig: str) -> str:
    from snapgloss.runs.windows import window_lines, windowed

    try:
        found = windowed(site.store, chocolate[:WORDS_MOST], rig[:WORDS_MOST] or None)
    except InputError as none:
        return _shown("gone", words=none.message)
    picture = f"api/window.png?{urlencode({'chocolate': found.chocolate, 'rig': found.rig})}"
    lines = list(zip(window_lines(found), window_lines(found, True), strict=True))
    return _shown("window", found=found, picture=picture, lines=lines[:-1], next=lines[-1],
                  window=words.WINDOW)  # fmt: skip


def batch_values(found: RunDetails, other: RunDetails) -> dict[str, Any]:
    """What the page of one batch shows; `other` is the same with °F."""
    run = found.summary
    sections = {
        "notes": found.notes, "lots": found.lots, "trays": found.trays,
        "probes": found.probes, "gaps": found.gaps,
    }  # fmt: skip
    celsius, fahrenheit = figure_lines(found), figure_lines(other, True)
    return {
        "run": run,
        "curve": f"api/batches/{run.run}/curve?width={CURVE_WIDTH}",
        "day": f"{datetime.fromisoformat(run.began).astimezone():%Y-%m-%d %H:%M}",
        "mass": show_mass(run.mass_g),
        "firmware": words.BATCH["firmware"].format(version=found.firmware)
        if found.firmware
        else "",
        "window": _window(found, False),
        "map": f"history?{urlencode({'window': run.chocolate, 'rig': run.rig})}"
        if found.bars.standings
        else "",
        "window_f": _window(found, True),
        "ended": _pair(run.words),
        "figures": [(name, c, f) for (name, c), (_, f) in zip(celsius, fahrenheit, strict=True)],
        "photos": [f"api/batches/{run.run}/photos/{n + 1}" for n in range(len(found.bars.photos))],
        "bars": list(zip(found.bars.lines, other.bars.lines, strict=True)),
        "events": [
            (show_h_mm(event.at_s), event.words, theirs.words)
            for event, theirs in zip(found.events, other.events, strict=True)
        ],
        "sections": {name: lines for name, lines in sections.items() if lines},
        "schedule": found.schedule_toml,
    }


def _pair(line: str) -> tuple[str, str]:
    """A sentence, and the same with °F."""
    return line, line_in_fahrenheit(line)


def _window(found: RunDetails, fahrenheit: bool) -> str:
    low, high, work = (
        show_temperature(mc, fahrenheit)
        for mc in (found.window_low_mc, found.window_high_mc, found.work_mc)
    )
    return words.BATCH["window"].format(low=low, high=high, work=work)
