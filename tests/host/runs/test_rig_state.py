"""What the page of the rig says: what is due, what was learned, probes, proof, stops, firmware."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from tests.host.synthetic import Synthetic, keep, synthetic

from snapgloss import __version__
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.quality.stop_remedies import REMEDIES
from snapgloss.rigs.calibration import ice
from snapgloss.rigs.commissioning_steps import STEPS
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.heat_model import FIGURES
from snapgloss.rigs.probe_list import entry
from snapgloss.runs import fitted, learning
from snapgloss.runs.calibrations import Calibrations
from snapgloss.runs.commissioning import Sheet
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.rig_state import RigState, due_before_a_batch, rig_state
from snapgloss.schedules.files import to_text
from snapgloss.store import open_store
from snapgloss.store.store import Store

DAY_MS = 24 * 3600 * 1000
NOW_MS = 1_790_000_000_000
PROBE = "ds18b20,2801001a2b00005f"
THERE = Identity("b1", 5, __version__, 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, False)
SAID = {name: getattr(BENCH_RIG, name) for name in FIGURES}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A record of its own."""
    with open_store(tmp_path) as store:
        yield store


def state(store: Store, data: Path, **changes: object) -> RigState:
    """The state of the bench rig, that answers."""
    return rig_state(store, data, BENCH_RIG, THERE._replace(**changes), NOW_MS)


def taught(run: int, fan_share: float = 1.0) -> learning.KeptFit:
    """What a batch taught: the description, the fan's share changed."""
    figures = {**SAID, "fan_loss_w_per_k": SAID["fan_loss_w_per_k"] * fan_share}
    return learning.KeptFit(
        run, BENCH_RIG.name, False, NOW_MS, figures, dict.fromkeys(FIGURES, 0.03), 4, 0.05, ""
    )


def keep_taught(data: Path, *fits: learning.KeptFit) -> None:
    """Write them down."""
    for fit in fits:
        learning.sheets.append(data / learning.FILE, fit._asdict())


def test_a_rig_nobody_knows(store: Store, tmp_path: Path) -> None:
    """Nothing learned, no probe known, every step open: the proof is what is due."""
    found = state(store, tmp_path)
    assert (found.heat, found.learned_of, found.stops) == ([], [], [])
    assert (found.probes_known, found.probes[0].words) == (False, fitted.NOT_KNOWN)
    assert found.due == [found.verdict]
    assert all(step.is_open for step in found.steps)
    assert (found.has_update, len(found.all_stops)) == (False, len(REMEDIES) - 1)


def test_no_rig_answers(store: Store, tmp_path: Path) -> None:
    """Its firmware is not known; the rest is of the rig as described."""
    found = rig_state(store, tmp_path, BENCH_RIG, None, NOW_MS)
    assert (found.firmware, found.has_update, found.board) == ("", False, "")


def test_another_firmware(store: Store, tmp_path: Path) -> None:
    """Older or newer: it differs from what this program has."""
    assert state(store, tmp_path, firmware="0.0.9").has_update


def test_a_simulated_rig_owes_no_proof(store: Store, tmp_path: Path) -> None:
    """Nothing is due there, and batches of a real rig teach nothing of it."""
    keep_taught(tmp_path, taught(1))
    found = state(store, tmp_path, simulated=True)
    assert (found.due, found.heat) == ([], [])


def test_a_fan_that_clogs(store: Store, tmp_path: Path) -> None:
    """Three batches, each with less: said as due, with what it may be; the last one counts."""
    keep_taught(tmp_path, *(taught(run, 1.0 - 0.2 * run) for run in range(3)))
    found = state(store, tmp_path)
    fan = next(one for one in found.heat if one.words == "Taken by the fan")
    heater = next(one for one in found.heat if one.words == "Heater")
    assert fan.value == pytest.approx(SAID["fan_loss_w_per_k"] * 0.6)
    assert fan.change == pytest.approx(-0.4, abs=0.02)
    assert (fan.sure_percent, fan.said) == (pytest.approx(3.0), SAID["fan_loss_w_per_k"])
    assert heater.moves == ""
    assert any(line.startswith("Taken by the fan: the fan takes less heat") for line in found.due)
    assert found.learned_of == [0, 1, 2]


def test_two_batches_are_no_drift(store: Store, tmp_path: Path) -> None:
    """Nothing is said of how it moves."""
    keep_taught(tmp_path, taught(1), taught(2, 0.2))
    assert [one.change for one in state(store, tmp_path).heat] == [None] * len(FIGURES)


def fit_probe(data: Path, days_ago: int | None) -> None:
    """Put a probe on the board, calibrated so many days ago, or never."""
    at_ms = NOW_MS - (days_ago or 0) * DAY_MS
    last = None if days_ago is None else Calibrations(data, lambda: at_ms).keep(
        PROBE, [ice(0.2)], "Maar")  # fmt: skip
    probes = {"chocolate": fitted.Fitted(entry(PROBE, -200), last)}
    fitted.keep(data, "b1", probes, at_ms)


@pytest.mark.parametrize(
    ("days", "due"),
    [(182, ""), (183, "half a year is over"), (None, "Calibrate the probe of the chocolate")],
)
def test_a_calibration_falls_due(store: Store, tmp_path: Path, days: int | None, due: str) -> None:
    """After half a year to the day; never calibrated is due at once."""
    fit_probe(tmp_path, days)
    found = state(store, tmp_path)
    probe = found.probes[0]
    assert (due in probe.due) and bool(probe.due) == bool(due)
    assert bool(due) == (len(found.due) == 2)
    assert found.probes_known
    assert "of the window of 31.0 to 32.0 °C" in probe.words


def test_a_calibration_that_is_not_on_the_rig(store: Store, tmp_path: Path) -> None:
    """It was done anew, and the board still has the old one."""
    fit_probe(tmp_path, 10)
    Calibrations(tmp_path, lambda: NOW_MS).keep(PROBE, [ice(0.1)], "Maar")
    assert "does not have it yet" in state(store, tmp_path).probes[0].due


def test_what_is_due_is_said_before_a_batch(tmp_path: Path) -> None:
    """An uncalibrated probe and open steps; nothing of a simulated rig."""
    fit_probe(tmp_path, None)
    said = due_before_a_batch(tmp_path, BENCH_RIG, THERE, NOW_MS)
    assert said[0].startswith("Calibrate the probe of the chocolate") and len(said) == 2
    assert "at most 20 W" in said[1]
    there = THERE._replace(simulated=True)
    assert due_before_a_batch(tmp_path, BENCH_RIG, there, NOW_MS) == []


def test_steps_and_their_days(store: Store, tmp_path: Path) -> None:
    """A step that holds a month: soon in its last two weeks, then due; one of once stays."""
    monthly = next(step for step in STEPS if step.days)
    once = next(step for step in STEPS if not step.days)
    for days_ago, expected in ((10, (False, False)), (20, (False, True)), (31, (True, False))):
        sheet = Sheet(tmp_path, BENCH_RIG, lambda: NOW_MS - days_ago * DAY_MS)  # noqa: B023
        for step in (monthly, once):
            sheet.write(key=step.key, result="passed", value=1.0, words="", name="Maar",
                        board="b1", simulated=False)  # fmt: skip
        lines = {line.key: line for line in state(store, tmp_path).steps}
        assert (lines[monthly.key].is_open, lines[monthly.key].is_soon) == expected
        assert (lines[once.key].is_open, lines[once.key].due_day) == (False, "")
        assert lines[monthly.key].due_day


def test_a_stop_and_what_to_do(store: Store, tmp_path: Path) -> None:
    """The last stop of a batch that the rig stopped, with its remedy."""
    run = synthetic((("working", 2, 31.5, 31.5, 31.5, 0.7, 70, 0),))
    boot = store.boot_id(THERE)
    run_id = keep(store, Synthetic(run.readings, []), boot_nonce=77)
    stopped = store.begin_run(_new(), boot, 0)
    store.add_events(boot, [Event(0, 1000, "stop", 7, 0)])
    store.end_run(stopped, 2000, "stopped", "Stopped.")
    found = state(store, tmp_path)
    assert [(one.run, one.code) for one in found.stops] == [(stopped, 7)]
    assert found.stops[0].remedy.startswith("Make safe whatever made you press.")
    assert run_id != stopped


def _new(**changes: object):
    from snapgloss.store import NewRun

    return NewRun(
        to_text(demo_schedule(700)), "0123abcd", "Lantern 72", "dark", "seeded", 700, 31_000,
        32_000, 31_500, BENCH_RIG.name, False, None, "",
    )._replace(**changes)  # fmt: skip


def test_each_batch_teaches_once(store: Store, tmp_path: Path) -> None:
    """A batch that cooled teaches the loss that it cooled by; one that is too short says why;
    neither is asked again, and one read from a log never."""
    boot = store.boot_id(THERE)
    at_s = np.arange(760)
    held_j_per_k = 0.7 * demo_schedule(700).chocolate_type.specific_heat + 500.0
    product_c = 21.0 + 27.0 * np.exp(-2.2 * at_s / held_j_per_k)
    cooled = [
        Reading(s, 1000 * s, "cooling", 2, 33_500, round(1000 * c), None, 21_000, 0, 1000, 0, 0)
        for s, c in zip(at_s.tolist(), product_c.tolist(), strict=True)
    ]
    first = store.begin_run(_new(), boot, 0)
    store.add_readings(boot, cooled)
    store.end_run(first, 760_000, "finished", "")
    other = store.boot_id(THERE._replace(boot_nonce=6))
    second = store.begin_run(_new(), other, 0)
    store.add_readings(other, cooled[:100])
    store.end_run(second, 100_000, "finished", "")
    logged = store.begin_run(_new(schedule_toml=""), store.boot_id(
        THERE._replace(boot_nonce=7)), 0)  # fmt: skip
    store.end_run(logged, 0, "finished", "")
    rig = BENCH_RIG
    assert [r.id for r in learning.not_learned(store, tmp_path, rig.name, False)] == [
        second, first]  # fmt: skip
    found = learning.learn_more(store, tmp_path, rig, False, lambda: NOW_MS)
    assert [(one.run, bool(one.why)) for one in found] == [(second, True), (first, False)]
    assert learning.learn_more(store, tmp_path, rig, False) == []
    assert learning.kept_fits(tmp_path, rig.name, False) == sorted(found)
    state_now = state(store, tmp_path)
    assert (state_now.learned_of, state_now.to_learn) == ([first], 0)
    figures = found[1].figures
    fan = 1 / (1 / figures["fan_loss_w_per_k"] + 1 / figures["plate_w_per_k"])
    assert figures["loss_w_per_k"] + fan == pytest.approx(2.2, rel=0.2)
