"""A run, or the list of all, for other programs: JSON with a schema, CSV, Parquet."""

import contextlib
import csv
import io
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

from rigfw.version import __version__
from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.textfiles import replace, shown_path
from snapgloss.quality.figure_words import FIGURE_WORDS
from snapgloss.runs.grading import graded_runs
from snapgloss.store.rows import ProbeRow
from snapgloss.store.store import Store

FORMAT = 1
Columns = dict[str, list[Any]]
_DEGREES = {"target_c": "target_mc", "chocolate_c": "product_mc", "plate_c": "plate_mc",
            "room_c": "room_mc"}  # fmt: skip
_PERCENT = {"heat_percent": "heat_permille", "fan_percent": "fan_permille",
            "stir_percent": "stir_permille"}  # fmt: skip
_DESCRIBED = ("chocolate", "type", "method", "mass_g", "rig", "simulated", "workshop", "outcome")


def schema_text() -> str:
    """The JSON schema (draft 2020-12) of `run_document`."""
    return (files("snapgloss.report") / "schemas" / "run.schema.json").read_text("utf-8")


def run_document(store: Store, run_id: int) -> dict[str, Any]:
    """All that is kept of a run, as the schema has it. Raises InputError for no such run."""
    run, held = store.run(run_id), store.bars(run_id)
    uses, labels = store.sources_entered(run_id)
    columns = readings_table(store, run_id)
    start_ms = next((part.start_ms for part in store.parts(run_id)), 0)
    return {
        "format": FORMAT,
        "made_by": f"snapgloss {__version__}",
        "run": {
            **run._asdict(),
            "started": _iso(run.started_utc_ms),
            "ended": None if run.ended_utc_ms is None else _iso(run.ended_utc_ms),
            "firmware": store.firmwares(run_id).get(run_id),
        },
        "figures": store.figures(run_id),
        "readings": {
            "columns": list(columns),
            "rows": [list(row) for row in zip(*columns.values(), strict=True)],
        },
        "events": [
            {"at_s": (e.at_ms - start_ms) / 1000, "kind": e.kind, "a": e.a, "b": e.b}
            for e in store.events(run_id)
        ],
        "gaps": [gap._asdict() for gap in store.gaps(run_id)],
        "notes": [_dated(row, "written_utc_ms") for row in store.notes(run_id)],
        "grades": [_dated(row, "graded_utc_ms") for row in held.grades],
        "counts": [_dated(row, "counted_utc_ms") for row in held.counts],
        "weights": [_dated(row, "weighed_utc_ms") for row in held.weights],
        "smears": [_dated(row, "dipped_utc_ms") for row in held.smears],
        "curves": [_dated(row, "taken_utc_ms") for row in held.curves],
        "conditions": [_dated(row, "seen_utc_ms") for row in held.conditions],
        "glosses": [_dated(row, "seen_utc_ms") for row in store.glosses(run_id)],
        "snaps": [_dated(row, "heard_utc_ms") for row in store.snaps(run_id)],
        "trays": [_dated(row, "entered_utc_ms") for row in store.trays(run_id)],
        "probes": [_probe(row) for row in store.probes(run_id)],
        "uses": [_dated(row, "used_utc_ms") for row in uses],
        "labels": [_dated(row, "labelled_utc_ms") for row in labels],
    }


def readings_table(store: Store, run_id: int) -> Columns:
    """A run's readings by column: seconds since its first part began, degC, percent.

    A missing reading is None. Raises InputError for no such run.
    """
    store.run(run_id)
    readings = store.readings(run_id)
    start_ms = next((part.start_ms for part in store.parts(run_id)), 0)
    table: Columns = {
        "at_s": [(r.at_ms - start_ms) / 1000 for r in readings],
        "state": [r.state for r in readings],
        "step": [r.step_no for r in readings],
    }
    for name, field in _DEGREES.items():
        values = [getattr(r, field) for r in readings]
        table[name] = [None if mc is None else mc / 1000 for mc in values]
    for name, field in _PERCENT.items():
        table[name] = [getattr(r, field) / 10 for r in readings]
    table["flags"] = [r.flags for r in readings]
    return table


def runs_table(store: Store) -> Columns:
    """One row for each run, oldest first: what it was, its grade, its figures, and whether these
    are not sure, since the clock of its log may have jumped."""
    runs = list(reversed(store.runs()))
    values, grades = store.figures_named(list(FIGURE_WORDS)), graded_runs(store)
    grade, unsure = {one.run: one.grade for one in grades}, store.unsure_clocks()
    table: Columns = {
        "run": [run.id for run in runs],
        "began": [_iso(run.started_utc_ms) for run in runs],
        **{name: [getattr(run, name) for run in runs] for name in _DESCRIBED},
        "grade": [grade.get(run.id) for run in runs],
        "clock_unsure": [run.id in unsure for run in runs],
    }
    for name in FIGURE_WORDS:
        table[name] = [values.get(run.id, {}).get(name) for run in runs]
    return table


def json_text(value: Any) -> str:
    """JSON without numbers that are none."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def csv_text(table: Mapping[str, Sequence[Any]]) -> str:
    """Comma-separated, a decimal point, nothing where there is no value (RFC 4180)."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(table)
    writer.writerows(zip(*table.values(), strict=True))
    return out.getvalue()


def write_text_file(path: Path, text: str) -> None:
    """Write an export, whole or not at all. Raises StoreError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace(path, text.encode())
    except OSError as problem:
        raise _cannot(path, problem) from problem


def write_parquet(path: Path, table: Columns) -> None:
    """Write a table as Parquet (zstd). Raises InputError without the extra `parquet`."""
    try:
        import duckdb
    except ImportError as problem:
        raise InputError(
            "Parquet needs the extra `parquet`.", 'Install it: pip install "snapgloss[parquet]".'
        ) from problem
    import numpy as np

    arrays, selected = {}, []
    for name, values in table.items():
        filled: Any = values
        column = f'"{name}"'
        if any(isinstance(v, float) or v is None for v in values) and not _texts(values):
            filled = [float("nan") if v is None else float(v) for v in values]
            column = f'CASE WHEN isnan("{name}") THEN NULL ELSE "{name}" END AS "{name}"'
        arrays[name] = np.array(filled, dtype=object if _texts(values) else None)
        selected.append(column)
    scratch = path.with_name(f".{path.name}-part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with duckdb.connect() as database:
            database.register("arrays", arrays)
            target = str(scratch).replace("'", "''")
            database.execute(
                f"COPY (SELECT {', '.join(selected)} FROM arrays) TO '{target}' "
                "(FORMAT parquet, COMPRESSION zstd)"
            )
        scratch.replace(path)
    except (OSError, duckdb.IOException) as problem:
        raise _cannot(path, problem) from problem
    finally:
        with contextlib.suppress(OSError):
            scratch.unlink()


def _texts(values: Sequence[Any]) -> bool:
    return any(isinstance(value, str) for value in values)


def _cannot(path: Path, problem: Exception) -> StoreError:
    why = getattr(problem, "strerror", None) or "the folder cannot be written"
    return StoreError(f"{shown_path(path)} cannot be written: {why}.", "Choose another place.")


def _dated(row: Any, when: str) -> dict[str, Any]:
    """A row without its keys, its time in words of ISO 8601."""
    fields = {k: v for k, v in row._asdict().items() if k not in ("id", "run_id", when)}
    return {"at": _iso(getattr(row, when)), **fields}


def _probe(row: ProbeRow) -> dict[str, Any]:
    at_ms = row.calibrated_utc_ms
    return {**row._asdict(), "calibrated": None if at_ms is None else _iso(at_ms)}


def _iso(utc_ms: int) -> str:
    moment = datetime.fromtimestamp(utc_ms / 1000, UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
