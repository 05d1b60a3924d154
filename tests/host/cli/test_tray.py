"""Trays in and out with one word, and what the record says of trays and probes."""

import time
from pathlib import Path
from typing import Any

import jsonschema
import pypdfium2
import pytest

from snapgloss.base.records import Identity
from snapgloss.quality.trays import Tray, trays_of
from snapgloss.runs.trays import move, words_of
from snapgloss.store import open_store
from snapgloss.store.rows import ProbeRow, TrayRow
from snapgloss.store.store import Store

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 10), *rest) for state, m, *rest in SEEDED)
BEGAN_UTC_MS = 1_790_000_000_000
MINUTE_MS = 60_000
KIND = "ds18b20,2801001a2b00005f"


@pytest.fixture
def real(data: Path) -> int:
    """A batch on a real rig with a calibrated probe, begun two hours ago; its number."""
    now_ms = time.time_ns() // 1_000_000
    with open_store(data, lambda: now_ms - 120 * MINUTE_MS) as store:
        run_id = keep(store, synthetic(SHORT), simulated=False)
        probes = [ProbeRow("chocolate", KIND, 120, 0, now_ms - 72 * 60 * MINUTE_MS, 2)]
        other = store.begin_run(
            _new(store, run_id),
            1,
            0,
            None,
            [*probes, ProbeRow("plate", "ntc,1,1,2,3,4", 0, 0, None, 0)],
        )
        store.end_run(other, 1000, "finished", "Finished.")
    return other


def _new(store: Store, run_id: int) -> Any:
    from snapgloss.store import NewRun

    row = store.run(run_id)
    return NewRun(**{name: getattr(row, name) for name in NewRun._fields})


def test_trays_go_in_and_come_out_with_one_word(call: Any, real: int) -> None:
    """The next in, the longest in out; when to look; the list says how long."""
    first = call("tray", f"{real}", "in", "--ago", "40 min")
    assert first.out.startswith("Tray 1: in at ") and "Look underneath at " in first.out
    assert call("tray", f"{real}", "in", "--ago", "30 min").out.startswith("Tray 2: in at ")
    out = call("tray", f"{real}", "out", "--ago", "20 min").out
    assert out.startswith("Tray 1: in at ") and out.endswith(", after 20 min.\n")
    rows = call("tray", f"{real}", "--json").value
    assert [(row["tray_no"], row["out_utc_ms"] is None) for row in rows] == [(1, False), (2, True)]
    said = call("show", f"{real}").out
    assert "after 20 min." in said and "Tray 2: in at" in said


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("out",), "No tray is in"),
        (("out", "--tray", "3"), "Tray 3 never went in"),
        (("in", "--ago", "3 h"), "before run"),
        (("in", "--ago", "-5 min"), "ago"),
        (("in", "--tray", "0"), "tray"),
    ],
)
def test_a_move_that_cannot_be_is_refused(call: Any, real: int, words: Any, why: str) -> None:
    """A sentence, exit code 2, and nothing kept."""
    answer = call("tray", f"{real}", *words)
    assert answer.code == 2 and why in answer.err
    assert call("tray", f"{real}").out.startswith("No tray yet")


def test_out_before_in_and_in_after_out_are_refused(call: Any, real: int) -> None:
    """And a correction is another entry: the later one counts."""
    call("tray", f"{real}", "in", "--ago", "30 min")
    assert (
        "out before it was in"
        in call("tray", f"{real}", "out", "--tray", "1", "--ago", "31 min").err
    )
    assert call("tray", f"{real}", "out", "--ago", "10 min").code == 0
    refused = call("tray", f"{real}", "in", "--tray", "1")
    assert "out already" in refused.err and "--tray 2" in refused.err
    assert call("tray", f"{real}", "in", "--tray", "1", "--ago", "35 min").code == 0
    assert "after 25 min" in call("tray", f"{real}").out


def test_of_two_entries_about_a_tray_the_later_counts() -> None:
    """A tray that only came out is none; numbers order the list."""
    rows = [
        TrayRow(1, 1, 0, 2, "in", 5), TrayRow(2, 1, 0, 1, "in", 9), TrayRow(3, 1, 0, 2, "in", 7),
        TrayRow(4, 1, 0, 2, "out", 7 + 61_000), TrayRow(5, 1, 0, 3, "out", 8),
    ]  # fmt: skip
    found = trays_of(rows)
    assert found == [Tray(1, 9, None), Tray(2, 7, 61_007)]
    assert [tray.minutes for tray in found] == [None, 1]


def test_a_future_or_a_run_that_is_not_there(tmp_path: Path) -> None:
    """The use case by itself, on a clock of its own."""
    with open_store(tmp_path, lambda: BEGAN_UTC_MS) as store:
        run_id = keep(store, synthetic(SHORT))
        tray = move(store, run_id, "in", now_utc_ms=BEGAN_UTC_MS + MINUTE_MS)
        assert tray == Tray(1, BEGAN_UTC_MS + MINUTE_MS, None)
        assert words_of(tray).startswith("Tray 1: in at ")


def test_the_record_names_probes_and_calibration_and_its_export_is_valid(
    call: Any, real: int, tmp_path: Path
) -> None:
    """In show, PDF and JSON; a run of which nobody knew says so, a simulated one nothing."""
    call("tray", f"{real}", "in", "--ago", "20 min")
    calibrated = f"Probe of the chocolate, {KIND}: +0.12 °C, calibrated 2 days before at 2 points."
    shown = " ".join(call("show", f"{real}").out.split())
    assert calibrated in shown
    assert "Probe of the plate, ntc,1,1,2,3,4: never calibrated" in shown
    assert "Probes: not known here" in " ".join(call("show", "1").out.split())
    pdf = call("report", f"{real}", "--out", str(tmp_path), "--json").value["pdf"]
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded()
    assert "calibrated 2 days before" in " ".join(text.split())
    assert "Tray 1: in at" in text
    document = call("export", f"{real}").value
    jsonschema.validate(document, call("export", "--schema").value)
    assert document["probes"][0]["offset_mk"] == 120
    assert document["trays"][0]["place"] == "in"


def test_a_calibrated_probe_is_shown_as_good_as_it_is(call: Any, data: Path) -> None:
    """Show, HTML, PDF and picture say ±0.14 °C (±0.25 °F), and the caution about half a window is
    gone; a run without a calibration keeps ±0.5 °C."""
    with open_store(data) as store:
        plain = keep(store, synthetic(SHORT), simulated=False)
        probes = [ProbeRow("plate", KIND, 0, 0, None, 0),
                  ProbeRow("chocolate", KIND, 120, 0, BEGAN_UTC_MS, 2, 140)]  # fmt: skip
        boot = store.boot_id(_identity())
        known = store.begin_run(_new(store, plain), boot, 0, None, probes)
        store.add_readings(boot, synthetic(SHORT).readings)
        store.end_run(known, 10**6, "finished", "Finished.")
    said = {}
    for run_id in (plain, known):
        call("figures", f"{run_id}", "--anew")
        paths = call("report", f"{run_id}", "--json").value
        with pypdfium2.PdfDocument(paths["pdf"]) as document:
            pdf = document[0].get_textpage().get_text_range()
        html = Path(paths["html"]).read_text(encoding="utf-8")
        said[run_id] = (call("show", f"{run_id}").out, html, pdf)
    assert [("within ±0.14 °C" in text, "±0.5" in text) for text in said[known]] == [
        (True, False)
    ] * 3
    assert ["within ±0.5 °C" in text for text in said[plain]] == [True] * 3
    assert "half the window" in said[plain][1] and "half the window" not in said[known][1]
    assert "within ±0.25 °F" in call("show", f"{known}", "--fahrenheit").out
    assert call("show", f"{known}", "--json").value["probe_mc"] == 140


def _identity() -> Identity:
    return Identity("bench-2", 9, "0.1.0", 1, 0, "", "off", 55000, 100, 0, 0, 0, 0, False)
