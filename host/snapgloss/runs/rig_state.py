"""A rig between batches: what is due, its heat, probes, proof, stops, firmware."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from rigwire.views import STOPS
from snapgloss import __version__
from snapgloss.chocolate.types import DARK
from snapgloss.quality.stop_remedies import REMEDIES
from snapgloss.rigs.calibration import DUE_DAYS
from snapgloss.rigs.commissioning import StepState, open_steps, state_words, verdict
from snapgloss.runs import fitted, learning
from snapgloss.runs.calibrations import Calibrations
from snapgloss.runs.commissioning import Sheet, described_as

if TYPE_CHECKING:
    from snapgloss.base.records import Identity
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store.rows import ProbeRow, RunRow
    from snapgloss.store.store import Store

DAY_MS = 24 * 3600 * 1000
SOON_MS = 14 * DAY_MS
STOPS_SHOWN = 10


class HeatFigure(NamedTuple):
    """One figure of the heat balance: as learned, how sure in percent, as the description says;
    `change` over the batches as a share, `moves` in words, empty where it does not move."""

    words: str
    unit: str
    value: float
    sure_percent: float
    said: float
    change: float | None
    moves: str


class ProbeState(NamedTuple):
    """One probe: a sentence, and what is to be done with it, empty for nothing."""

    words: str
    due: str


class StepLine(NamedTuple):
    """One step of commissioning: where it stands, and the day it falls due, empty for never."""

    key: str
    group: str
    words: str
    state: str
    state_words: str
    due_day: str
    is_open: bool
    is_soon: bool


class StopLine(NamedTuple):
    """A batch that was stopped, why, and what to do about it; run 0 in the list of all stops."""

    run: int
    day: str
    code: int
    words: str
    remedy: str


@dataclass(frozen=True)
class RigState:
    """All of it; `due` says in sentences what is to be done now."""

    rig: str
    board: str
    simulated: bool
    firmware: str
    newest: str
    has_update: bool
    due: list[str]
    heat: list[HeatFigure]
    learned_of: list[int]
    to_learn: int
    probes: list[ProbeState]
    probes_known: bool
    steps: list[StepLine]
    verdict: str
    stops: list[StopLine]
    all_stops: list[StopLine]


def rig_state(
    store: "Store", data: Path, rig: "RigDescription", there: "Identity | None", now_utc_ms: int
) -> RigState:
    """Return what is known of a rig; `there` is the one that answers, None for none.

    Raises StoreError for a damaged sheet.
    """
    simulated = there is not None and there.simulated
    fits = learning.kept_fits(data, rig.name, simulated)
    heat = heat_figures(fits, rig)
    probes = _probes(data, there, now_utc_ms, _window_mc(store))
    states = Sheet(data, described_as(rig, simulated), lambda: now_utc_ms).states()
    firmware = there.firmware if there else ""
    has_update = bool(firmware) and firmware != __version__
    return RigState(
        rig.name, there.board if there else "", simulated, firmware, __version__, has_update,
        _due(heat, probes, states, simulated), heat,
        [one.run for one in fits if not one.why],
        len(learning.not_learned(store, data, rig.name, simulated)),
        probes or [ProbeState(fitted.NOT_KNOWN, "")], bool(probes),
        [_step(one, now_utc_ms) for one in states], verdict(states),
        _stopped(store), every_stop(),
    )  # fmt: skip


def due_before_a_batch(
    data: Path, rig: "RigDescription", there: "Identity", now_utc_ms: int
) -> list[str]:
    """What a person at a real rig should know before they start: probes and steps that are due,
    in sentences; nothing for a simulated one. Raises StoreError for a damaged sheet."""
    if there.simulated:
        return []
    probes = _probes(data, there, now_utc_ms, DARK.window)
    states = Sheet(data, rig, lambda: now_utc_ms).states()
    return _due([], probes, states, simulated=False)


def heat_figures(fits: Sequence[learning.KeptFit], rig: "RigDescription") -> list[HeatFigure]:
    """The heat balance as the newest batch taught it, and how it moves; empty when none did."""
    newest = next((one for one in reversed(fits) if not one.why), None)
    if newest is None:
        return []
    moves = {drift.name: drift for drift in learning.drift_of(fits)}
    several = len(next(iter(moves.values())).values) >= 3
    return [
        HeatFigure(
            words, unit, newest.figures[name], 100 * newest.log_sds[name], getattr(rig, name),
            moves[name].change if several else None, moves[name].words,
        )
        for name, (words, unit) in learning.FIGURE_WORDS.items()
    ]  # fmt: skip


def every_stop() -> list[StopLine]:
    """Every reason for which a rig stops, and what to do."""
    rows = zip(STOPS, REMEDIES, strict=True)
    return [StopLine(0, "", code, words, do) for (code, _, words), do in rows if code]


def _due(
    heat: Sequence[HeatFigure], probes: Sequence[ProbeState], states: Sequence[StepState],
    simulated: bool,
) -> list[str]:  # fmt: skip
    lines = [one.due for one in probes if one.due]
    lines += [f"{one.words}: {one.moves}." for one in heat if one.moves]
    if not simulated and open_steps(states):
        lines.append(verdict(states))
    return lines


def _window_mc(store: "Store") -> tuple[int, int]:
    """The window of the newest batch; of dark chocolate where there was none yet."""
    newest = next(iter(store.runs()), None)
    return (newest.window_low_mc, newest.window_high_mc) if newest else DARK.window


def _probes(
    data: Path, there: "Identity | None", now_utc_ms: int, window_mc: tuple[int, int]
) -> list[ProbeState]:
    book = Calibrations(data, lambda: now_utc_ms)
    return [_probe(row, book, now_utc_ms, window_mc) for row in fitted.probes_at(data, there)]


def _probe(
    row: "ProbeRow", book: Calibrations, now_utc_ms: int, window_mc: tuple[int, int]
) -> ProbeState:
    sure = fitted.sure_line(book.path.parent, row, now_utc_ms, window_mc)
    words = f"{fitted.probe_line(row, now_utc_ms)} {sure}".strip()
    last = book.last(row.kind)
    if last is not None and last.at_utc_ms > (row.calibrated_utc_ms or 0):
        due = f"The probe of the {row.role} was calibrated, but the rig does not have it yet."
        return ProbeState(words, f"{due} Put it on with snapgloss deploy.")
    if row.calibrated_utc_ms is None:
        return ProbeState(words, f"Calibrate the probe of the {row.role}: snapgloss calibrate.")
    due_utc_ms = row.calibrated_utc_ms + DUE_DAYS * DAY_MS
    if now_utc_ms < due_utc_ms:
        return ProbeState(f"{words} Again by {_day(due_utc_ms)}.", "")
    return ProbeState(words, f"Calibrate the probe of the {row.role} again: half a year is over.")


def _step(one: StepState, now_utc_ms: int) -> StepLine:
    due = one.due_utc_ms
    is_soon = due is not None and one.state == "passed" and due - now_utc_ms < SOON_MS
    return StepLine(
        one.step.key, one.step.group, one.step.words, one.state, state_words(one),
        "" if due is None else _day(due), one.state != "passed", is_soon,
    )  # fmt: skip


def _stopped(store: "Store") -> list[StopLine]:
    """The newest batches that the rig stopped."""
    runs = [run for run in store.runs() if run.outcome == "stopped"][:STOPS_SHOWN]
    return [_stop(store, run) for run in runs]


def _stop(store: "Store", run: "RunRow") -> StopLine:
    codes = [event.a for event in store.events(run.id) if event.kind == "stop"]
    code = codes[-1] if codes and 0 < codes[-1] < len(STOPS) else 0
    words = STOPS[code][2] if code else run.words
    return StopLine(run.id, _day(run.started_utc_ms), code, words, REMEDIES[code] if code else "")


def _day(utc_ms: int) -> str:
    return f"{datetime.fromtimestamp(utc_ms / 1000):%Y-%m-%d}"
