"""Which probes a board has, as far as this computer knows: what it last put on it.

A run keeps them, with their calibration, as they were when it began.
"""

import time
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from snapgloss.base.records import Identity
from snapgloss.quality.words import PROBE_UNCERTAINTY_MC
from snapgloss.store import sheets
from snapgloss.store.rows import ProbeRow

if TYPE_CHECKING:
    from snapgloss.rigs.probe_list import ProbeEntry
    from snapgloss.runs.calibrations import Calibrated
    from snapgloss.store.store import Store

FILE = "probes.txt"
DAY_MS = 24 * 3600 * 1000
WORKING = "chocolate"
"""The role of the probe whose reading is the working temperature."""
NOT_KNOWN = (
    "Probes: not known here, for they were not put on the rig from this record. A probe that was "
    "never calibrated may be 0.5 °C off."
)


class Fitted(NamedTuple):
    """A probe as the board is told of it, and its calibration, None where it has none."""

    entry: "ProbeEntry"
    last: "Calibrated | None"


def keep(data: Path, board: str, probes: Mapping[str, Fitted], now_utc_ms: int) -> None:
    """Write down what was put on a board, by role. Raises StoreError."""
    rows = [
        ProbeRow(
            role, fitted.entry.kind, fitted.entry.offset_mk, fitted.entry.slope_e5,
            fitted.last.at_utc_ms if fitted.last else None,
            len(fitted.last.calibration.points) if fitted.last else 0,
        )
        for role, fitted in probes.items()
    ]  # fmt: skip
    _append(data, board, [row._asdict() for row in rows], now_utc_ms)


def keep_back(data: Path, board: str, now_utc_ms: int) -> None:
    """Write down that a board has the probes again that it had before. Raises StoreError."""
    held = [row["probes"] for row in _of_board(data, board)]
    _append(data, board, held[-2] if len(held) > 1 else [], now_utc_ms)


def probes_at(
    data: Path, rig: Identity | None, work_mc: int | None = None, now_utc_ms: int | None = None
) -> tuple[ProbeRow, ...]:
    """The probes of the rig that answered; none when nobody knows, or it is simulated.

    With `work_mc` also how well each knows that temperature now. Raises StoreError for a damaged
    sheet.
    """
    probes = () if rig is None or rig.simulated else probes_of(data, rig.board)
    if work_mc is None:
        return probes
    now_utc_ms = time.time_ns() // 1_000_000 if now_utc_ms is None else now_utc_ms
    return tuple(
        probe._replace(uncertainty_mk=_uncertainty_mk(data, probe, work_mc, now_utc_ms))
        for probe in probes
    )


def _uncertainty_mk(data: Path, probe: ProbeRow, at_mc: int, now_utc_ms: int) -> int | None:
    """By the very calibration that the board has; None without one, or where it is not here."""
    from snapgloss.rigs.calibration import uncertainty_c
    from snapgloss.runs.calibrations import Calibrations

    if probe.calibrated_utc_ms is None:
        return None
    found = Calibrations(data, lambda: now_utc_ms).of(probe.kind, probe.calibrated_utc_ms)
    if found is None:
        return None
    return round(1000 * uncertainty_c(found.calibration, at_mc / 1000, found.age_days))


def uncertainty_mc(store: "Store", run_id: int) -> int:
    """How far the chocolate's probe of a run may be off: by its calibration, else 0.5 degC."""
    known = {probe.role: probe.uncertainty_mk for probe in store.probes(run_id)}.get("chocolate")
    return PROBE_UNCERTAINTY_MC if known is None else known


def probes_of(data: Path, board: str) -> tuple[ProbeRow, ...]:
    """The probes that were last put on a board; none when nobody knows. Raises StoreError."""
    held = _of_board(data, board)
    return tuple(ProbeRow(**row) for row in held[-1]["probes"]) if held else ()


def probe_lines(store: "Store", run_id: int) -> list[str]:
    """What is known of a run's probes, in sentences, and how much of its window is sure by the
    probe of the chocolate; nothing for a simulated rig or a log."""
    run = store.run(run_id)
    if run.simulated or not store.firmwares(run_id).get(run_id):
        return []
    data = store.address if isinstance(store.address, Path) else None
    window = run.window_low_mc, run.window_high_mc
    lines = []
    for probe in store.probes(run_id):
        sure = sure_line(data, probe, run.started_utc_ms, window) if data else ""
        lines.append(f"{probe_line(probe, run.started_utc_ms)} {sure}".strip())
    return lines or [NOT_KNOWN]


def sure_line(data: Path, probe: ProbeRow, at_utc_ms: int, window_mc: tuple[int, int]) -> str:
    """How well the chocolate's probe knew the temperature at that moment, held against a window.

    Empty for another probe, and where its calibration is not in this record.
    """
    from snapgloss.rigs.calibration import against_window, uncertainty_c

    low_c, high_c = (mc / 1000 for mc in window_mc)
    if probe.role != WORKING:
        return ""
    if probe.calibrated_utc_ms is None:
        is_known = probe.kind.startswith("ds18b20")
        return against_window(uncertainty_c(None, low_c, 0.0), low_c, high_c) if is_known else ""
    known = probe.uncertainty_mk
    if known is None:
        known = _uncertainty_mk(data, probe, round(500 * (low_c + high_c)), at_utc_ms)
    return "" if known is None else against_window(known / 1000, low_c, high_c)


def probe_line(probe: ProbeRow, began_utc_ms: int) -> str:
    """What is known of a probe, in a sentence, as it was at that moment."""
    name = f"Probe of the {probe.role}, {probe.kind}"
    if probe.calibrated_utc_ms is None:
        return f"{name}: never calibrated, it may be 0.5 °C off."
    days = max(0, began_utc_ms - probe.calibrated_utc_ms) // DAY_MS
    age = "that day" if days == 0 else f"{days} day{'s' if days > 1 else ''} before"
    slope = f" and {probe.slope_e5 / 1000:+.2f} %" if probe.slope_e5 else ""
    points = f"{probe.points} point{'s' if probe.points > 1 else ''}"
    return f"{name}: {probe.offset_mk / 1000:+.2f} °C{slope}, calibrated {age} at {points}."


def _of_board(data: Path, board: str) -> list[dict[str, Any]]:
    return [row for row in sheets.read(data / FILE) if row["board"] == board]


def _append(data: Path, board: str, probes: list[dict[str, Any]], now_utc_ms: int) -> None:
    sheets.append(data / FILE, {"at_utc_ms": now_utc_ms, "board": board, "probes": probes})
