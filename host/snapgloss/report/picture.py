"""Everything a report shows of one run, read from the store at once."""

from dataclasses import dataclass
from datetime import datetime

from snapgloss.base.records import Event, Reading
from snapgloss.base.units import show_mass
from snapgloss.quality.causes import Answer
from snapgloss.quality.figures import RunFigures, figures_of
from snapgloss.quality.spans import start_ms
from snapgloss.quality.words import sentence, verdict
from snapgloss.runs.fitted import probe_lines, uncertainty_mc
from snapgloss.runs.grading import bars_summary
from snapgloss.runs.importing import BY_HAND
from snapgloss.runs.lot_words import source_lines
from snapgloss.runs.trays import tray_lines
from snapgloss.runs.why import why_bad
from snapgloss.store import GapRow, NoteRow, RunRow
from snapgloss.store.store import Store

OPEN = "Unfinished: under way when this was written, or the record ended before the batch."
_MONTHS = "January February March April May June July August September October November December"


@dataclass(frozen=True, slots=True)
class RunPicture:
    """A run with its readings and events in order, and the figures made of them."""

    row: RunRow
    readings: list[Reading]
    events: list[Event]
    gaps: list[GapRow]
    notes: list[NoteRow]
    figures: RunFigures
    bars: list[str]
    """What is known of lots, trays and bars, in sentences."""
    probes: list[str]
    """What is known of the rig's probes, in sentences; nothing for a simulated rig or a log."""
    probe_mc: int
    """How far the chocolate's probe may be off, by its calibration if it had one."""
    firmware: str
    """That the run began with; empty when the run has no part."""
    why: Answer | None = None
    """What bars come of that were not graded to sell."""

    @property
    def zero_ms(self) -> int:
        """Device ms of the start of the first step: minute 0 of the picture."""
        return start_ms(self.readings)

    @property
    def is_log(self) -> bool:
        """Read from a logger's file: nobody knows how good its probe was."""
        return not self.firmware

    @property
    def is_by_hand(self) -> bool:
        """No rig's heater or plate had a part in it."""
        return self.is_log or self.row.rig == BY_HAND

    @property
    def headline(self) -> str:
        """The verdict as a sentence; of a record that was cut off it says that it is not whole."""
        if self.row.outcome != "unfinished":
            return sentence(verdict(self.figures))
        told = sentence(verdict(self.figures)) if self.figures.minutes_working else ""
        return f"{OPEN} {told}".strip()

    @property
    def title(self) -> str:
        """Chocolate, mass and day, as "Lantern 72, 2 kg, 25 November 2026"."""
        return (
            f"{self.row.chocolate}, {show_mass(self.row.mass_g)}, {day(self.row.started_utc_ms)}"
        )


def picture_of(store: Store, run_id: int, fahrenheit: bool = False) -> RunPicture:
    """Read a run. Raises StoreError when there is none of that number."""
    row = store.run(run_id)
    readings, events = store.readings(run_id), store.events(run_id)
    figures = figures_of(
        readings, events, row.window_low_mc, row.window_high_mc, row.work_mc,
        store.heater_w(run_id),
    )  # fmt: skip
    bars = source_lines(store, run_id) + tray_lines(store, run_id)
    bars += bars_summary(store, run_id, fahrenheit).lines
    gaps, notes = store.gaps(run_id), store.notes(run_id)
    firmware = store.firmwares(run_id).get(run_id, "")
    probes = probe_lines(store, run_id)
    return RunPicture(
        row, readings, events, gaps, notes, figures, bars, probes, uncertainty_mc(store, run_id),
        firmware, why_bad(store, run_id, fahrenheit),
    )  # fmt: skip


def day(utc_ms: int) -> str:
    """The day by this computer's clock and zone, as "25 November 2026"."""
    local = datetime.fromtimestamp(utc_ms / 1000).astimezone()
    return f"{local.day} {_MONTHS.split()[local.month - 1]} {local.year}"


def clock_time(utc_ms: int) -> str:
    """The time of day by this computer's clock and zone, as "14:05"."""
    return f"{datetime.fromtimestamp(utc_ms / 1000).astimezone():%H:%M}"
