"""Probes of a run: what is known of each, and how much of the window its calibration leaves."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.host.synthetic import COOLED, keep, synthetic

from snapgloss.rigs.calibration import Point, bath, ice
from snapgloss.runs import fitted
from snapgloss.runs.calibrations import Calibrations
from snapgloss.store import NewRun, open_store
from snapgloss.store.rows import ProbeRow
from snapgloss.store.store import Store

DAY_MS = 24 * 3600 * 1000
NOW_MS = 1_790_000_000_000
KIND = "ds18b20,2801001a2b00005f"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A record of its own, on a clock that stands."""
    with open_store(tmp_path, lambda: NOW_MS) as store:
        yield store


def begun(store: Store, *probes: ProbeRow) -> int:
    """A run on a real rig with these probes, its window 31 to 32 degC."""
    row = store.run(keep(store, synthetic(COOLED), simulated=False))
    new = NewRun(**{name: getattr(row, name) for name in NewRun._fields})
    return store.begin_run(new, 1, 0, None, list(probes))


def calibrated(folder: Path, days_ago: int, *points: Point) -> ProbeRow:
    """A chocolate probe, calibrated so many days before the run; never without points."""
    at_ms = NOW_MS - days_ago * DAY_MS
    if points:
        Calibrations(folder, lambda: at_ms).keep(KIND, list(points), "Maar")
    return ProbeRow("chocolate", KIND, -200, 0, at_ms if points else None, len(points))


TWO = (ice(0.2), bath(37.0, 36.8))


@pytest.mark.parametrize(
    ("days", "points", "words"),
    [
        (0, TWO, "known to ± 0.15 °C (95 %): of the window of 31.0 to 32.0 °C, 31.15 to 31.85 °C"),
        (365, TWO, "known to ± 0.18 °C (95 %)"),
        (0, (ice(0.2),), "known to ± 0.27 °C (95 %)"),
        (0, (), "known to ± 0.50 °C (95 %): more than half of the window"),
    ],
)
def test_the_working_temperature_is_held_against_the_runs_window(
    store: Store, tmp_path: Path, days: int, points: tuple[Point, ...], words: str
) -> None:
    """Grown with its age; two points, one (0.25 / 30 K a kelvin away), none."""
    (line,) = fitted.probe_lines(store, begun(store, calibrated(tmp_path, days, *points)))
    assert words in line


def test_a_calibration_that_is_not_in_this_record_says_nothing_of_it(
    store: Store, tmp_path: Path
) -> None:
    """Made on another computer, or of another moment: its points are not known."""
    probe = calibrated(tmp_path, 3, *TWO)
    run_id = begun(store, probe._replace(calibrated_utc_ms=NOW_MS - DAY_MS))
    assert "known to" not in fitted.probe_lines(store, run_id)[0]


def test_a_swapped_probe_does_not_inherit_it(store: Store, tmp_path: Path) -> None:
    """Another number, never calibrated: the data sheet's 0.5 degC."""
    calibrated(tmp_path, 0, *TWO)
    other = ProbeRow("chocolate", "ds18b20,2802001a2b0000aa", 0, 0, None, 0)
    (line,) = fitted.probe_lines(store, begun(store, other))
    assert "never calibrated" in line and "known to ± 0.50 °C" in line


def test_only_the_chocolates_probe_has_a_working_temperature(store: Store) -> None:
    """Plate and room are told without a window; a thermistor has no figure of a data sheet."""
    plate = ProbeRow("plate", KIND, 0, 0, None, 0)
    bead = ProbeRow("chocolate", "ntc,1,10000,32554,10000,3606", 0, 0, None, 0)
    assert not [one for one in fitted.probe_lines(store, begun(store, plate, bead)) if "95" in one]
